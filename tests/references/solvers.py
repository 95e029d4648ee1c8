"""The planner's problems in whole divisions, solved by HiGHS and CP-SAT, and compared with what the planner said.

    python solvers.py OURS.json [--limit SECONDS] [--together] [--models direct,classes] [--solvers highs,cp-sat]

OURS.json comes from the benchmark (examples/bench), and beside it NAME.json for each problem: charges by lot, bases by
cylinder, tops by cylinder and lot, all in divisions of the scale. The three objectives are solved one after the other,
each held while the next is improved: fewest cylinders, lowest heaviest lift, least weight carried. The time is the
solvers' own; making the model isn't counted.

It knows nothing of the planner's ways. Every plan of a solver is figured here in whole numbers before it counts. Ends
with 1 where a solver contradicts the planner or has a better plan. Writes references.json and references.csv beside
OURS.json.
"""

import argparse
import csv
import json
import sys
from dataclasses import asdict
from pathlib import Path

from adapters import CpSat, Highs
from comparison import OBJECTIVES, Ours, Theirs, faults, problems_table, sizes_table, try_faults
from models import Broken, Classes, Direct, Problem

MODELS = {"direct": Direct, "classes": Classes}
SOLVERS = {"highs": Highs, "cp-sat": CpSat}


class Clock:
    """Seconds that are left: for each objective anew, or for the three together."""

    def __init__(self, limit: float, together: bool):
        self.limit, self.together, self.left = limit, together, limit

    def next_objective(self):
        if not self.together:
            self.left = self.limit

    def spend(self, seconds: float):
        self.left -= seconds


class Run:
    """One solver with one model on one problem."""

    def __init__(self, solver, model, clock: Clock):
        self.solver, self.model, self.clock = solver, model, clock
        self.problem: Problem = model.problem
        self.plan = None
        self.theirs = Theirs(solver.name, model.name)

    def solve(self, made):
        """Solves a program: a plan that was figured again (or None), and the bound (None: there is no plan)."""
        program, plan_of, start_of = made
        if self.clock.left <= 0:
            return None, 0
        start = start_of(self.plan) if self.plan is not None else {}
        solved = self.solver.solve(program, self.clock.left, start)
        self.clock.spend(solved.seconds)
        self.theirs.seconds += solved.seconds
        plan = plan_of(solved.values) if solved.values is not None else None
        if plan is not None:
            try:
                self.problem.totals(plan)
            except Broken as broken:
                print(f"{self.solver.name}, {self.model.name} model: a plan that doesn't hold: {broken}", file=sys.stderr)
                plan = None
        return plan, solved.bound

    def settle(self, key: str, plan, bound: int):
        """Takes the better of the plan found and the one held."""
        if plan is not None and (self.plan is None or self.of(plan, key) <= self.of(self.plan, key)):
            self.plan = plan
        self.theirs.bounds[key] = bound
        if self.plan is not None:
            self.theirs.totals[key] = self.of(self.plan, key)

    def of(self, plan, key: str) -> int:
        return getattr(self.problem.totals(plan), key)

    def run(self) -> Theirs:
        """The three objectives."""
        plan, bound = self.solve(self.model.fewest())
        if bound is None:
            self.theirs.infeasible = True
            return self.theirs
        self.settle("cylinders", plan, bound)
        if self.plan is None:
            return self.theirs
        most = self.theirs.totals["cylinders"]
        self.clock.next_objective()
        self.settle("heaviest", *(self.bisect(most) if self.model.name == "classes" else self.lightest(most)))
        lift = self.theirs.totals["heaviest"]
        self.clock.next_objective()
        plan, bound = self.held(self.solve(self.model.least(most, lift)))
        self.settle("carried", plan, bound + sum(self.problem.charges))
        return self.theirs

    def held(self, solved):
        """A program that a plan is known for can't be without one."""
        plan, bound = solved
        if bound is None:
            raise RuntimeError(f"{self.solver.name} finds no plan where one is known")
        return plan, bound

    def lightest(self, most: int):
        return self.held(self.solve(self.model.lightest(most)))

    def bisect(self, most: int):
        """The lowest heaviest lift in classes: does it fit at this lift?"""
        best, low = self.plan, 0
        high = self.of(best, "heaviest")
        while low < high:
            middle = (low + high) // 2
            plan, bound = self.solve(self.model.fits(most, middle))
            if plan is not None:
                best, high = plan, self.of(plan, "heaviest")
            elif bound is None:
                low = middle + 1
            else:
                break
        return best, low


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Solves the planner's problems by other solvers, and compares.")
    parser.add_argument("ours", type=Path, help="what the planner said, from the benchmark")
    parser.add_argument("--limit", type=float, default=60.0, help="seconds for each objective (60)")
    parser.add_argument("--together", action="store_true", help="the limit is for the three objectives together")
    parser.add_argument("--models", default="direct", help="direct, classes, or both with a comma (direct)")
    parser.add_argument("--solvers", default="highs,cp-sat", help="highs, cp-sat, or both with a comma (both)")
    parser.add_argument("--brief", action="store_true", help="print the table of sizes alone")
    return parser.parse_args()


def write(folder: Path, pairs: list):
    """The results as data."""
    rows = [{"name": ours.name, **asdict(theirs), "proved": theirs.proved()} for ours, theirs in pairs]
    (folder / "references.json").write_text(json.dumps(rows, indent=1))
    with open(folder / "references.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        ends = [f"{key} {what}" for key in OBJECTIVES for what in ("found", "bound")]
        writer.writerow(["name", "solver", "model", "proved", "doesn't fit", "seconds", *ends])
        for ours, theirs in pairs:
            values = [each.get(key) for key in OBJECTIVES for each in (theirs.totals, theirs.bounds)]
            seconds = f"{theirs.seconds:.4f}"
            first = [ours.name, theirs.solver, theirs.model, theirs.proved(), theirs.infeasible, seconds]
            writer.writerow([*first, *values])


def main() -> int:
    try_faults()
    given = arguments()
    pairs, wrong = [], []
    for answer in json.loads(given.ours.read_text()):
        ours = Ours.of(answer)
        problem = Problem(**json.loads((given.ours.parent / f"{ours.name}.json").read_text()))
        for model in given.models.split(","):
            for solver in given.solvers.split(","):
                run = Run(SOLVERS[solver](), MODELS[model](problem), Clock(given.limit, given.together))
                theirs = run.run()
                pairs.append((ours, theirs))
                wrong += faults(ours, theirs)
    write(given.ours.parent, pairs)
    limit = f"{given.limit:g} s for {'the three together' if given.together else 'each of the three'}"
    print(f"\nBeside it HiGHS and CP-SAT on the same whole numbers, {limit}; cylinders / heaviest / carried.\n")
    if not given.brief:
        print(problems_table(pairs) + "\n")
    print(sizes_table(pairs))
    print("\n" + ("\n".join(wrong) if wrong else f"No contradiction and no better plan in {len(pairs)} comparisons."))
    return 1 if wrong or not pairs else 0


if __name__ == "__main__":
    sys.exit(main())

"""The planner's answers beside the solvers': what contradicts, what is better, how much faster.

It compares whole numbers and allows no tolerance.
"""

import statistics
from dataclasses import dataclass, field

OBJECTIVES = ("cylinders", "heaviest", "carried")
# The planner's time is known to about so many seconds; a ratio takes none for shorter.
SHORTEST = 1e-4


@dataclass
class Ours:
    """What the planner said to a problem."""

    name: str
    cylinders: int
    lots: int
    share: int
    seed: int
    status: str
    totals: dict
    bounds: dict
    seconds: float
    cpu_seconds: float
    runs: int
    peak_bytes: int

    @classmethod
    def of(cls, answer: dict) -> "Ours":
        """From the bench's data, which says more of a problem than is compared."""
        return cls(**{name: answer[name] for name in cls.__dataclass_fields__})

    def planned(self) -> bool:
        return self.status in ("proved", "bounded")


@dataclass
class Theirs:
    """What a solver with a model said, objective after objective; no entry where it had no plan or no time."""

    solver: str
    model: str
    totals: dict = field(default_factory=dict)
    # No plan is better, given what was found for the objectives before.
    bounds: dict = field(default_factory=dict)
    infeasible: bool = False
    seconds: float = 0.0

    def proved(self) -> bool:
        """All three, or that there is no plan."""
        return self.infeasible or all(self.totals.get(key) == self.bounds.get(key, -1) for key in OBJECTIVES)


def faults(ours: Ours, theirs: Theirs) -> list:
    """Where the two contradict each other, or theirs is better."""
    who, found = f"{ours.name}: {theirs.solver}, {theirs.model} model", []
    if theirs.infeasible:
        return [f"{who}: proves that it doesn't fit; the planner has a plan"] if ours.planned() else []
    if not ours.planned():
        return [f"{who}: has a plan; the planner says {ours.status}"] if theirs.totals else []
    for key in OBJECTIVES:
        total, bound = ours.totals[key], ours.bounds[key]
        other, below = theirs.totals.get(key), theirs.bounds.get(key)
        if below is not None and below > total:
            found.append(f"{who}: proves {key} of at least {below}; the planner has {total}")
        if other is not None and other < bound:
            found.append(f"{who}: has {key} of {other}; the planner claims that no plan has less than {bound}")
        if other is not None and other < total:
            found.append(f"{who}: has {key} of {other}, better than the planner's {total}")
        if other != total:
            # What follows was held to other values.
            break
    return found


def try_faults():
    """Raises unless `faults` finds what is wrong, and nothing where nothing is."""
    three = dict(zip(OBJECTIVES, (4, 1471, 5742)))

    def ours(status="proved", totals=None, bounds=None) -> Ours:
        totals = three | (totals or {})
        return Ours("trial", 9, 2, 50, 1, status, totals, three | (bounds or {}), 0.001, 0.001, 5, 1)

    def theirs(totals=None, bounds=None, **rest) -> Theirs:
        return Theirs("trial", "trial", three | (totals or {}), three | (bounds or {}), **rest)

    none = Theirs("trial", "trial", infeasible=True)
    for number, found in (
        (0, faults(ours(), theirs())),
        (0, faults(ours(), Theirs("trial", "trial"))),
        (0, faults(ours(), theirs({"heaviest": 1500}, {"heaviest": 1400}))),
        (0, faults(ours("short"), none)),
        (1, faults(ours(), none)),
        (1, faults(ours("short"), theirs())),
        (1, faults(ours("undecided"), theirs())),
        (1, faults(ours(), theirs({"cylinders": 5}, {"cylinders": 5}))),
        (2, faults(ours(), theirs({"cylinders": 3}))),
        (2, faults(ours(), theirs({"carried": 5741}))),
        (1, faults(ours("bounded", bounds={"heaviest": 1470}), theirs({"heaviest": 1470}, {"heaviest": 1470}))),
        (1, faults(ours("bounded", {"carried": 5741}, {"carried": 5740}), theirs())),
    ):
        if len(found) != number:
            raise SystemExit(f"the comparison itself is wrong: {number} faults expected, found {found}")


def shown(values: dict) -> str:
    """The objectives found, weights in tenths of a pound as pounds."""
    if not values:
        return "no plan"
    parts = [str(values["cylinders"])]
    parts += [f"{values[key] / 10:.1f}" for key in OBJECTIVES[1:] if key in values]
    return " / ".join(parts)


def ratio(ours: Ours, theirs: Theirs) -> float:
    return theirs.seconds / max(ours.seconds, SHORTEST)


def factor(value: float, more: bool) -> str:
    return f"{'over ' if more else ''}{value:.0f}×" if value >= 10 else f"{'over ' if more else ''}{value:.1f}×"


def markdown(header: list, rows: list) -> str:
    lines = [header, ["---"] + ["---:"] * (len(header) - 1), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def problems_table(pairs: list) -> str:
    """One line for each problem and solver: the plans, the times, the ratio."""
    rows = []
    for ours, theirs in pairs:
        said = "doesn't fit" if theirs.infeasible else shown(theirs.totals)
        rows.append([
            f"{ours.cylinders} × {ours.lots}",
            f"{ours.share} %",
            str(ours.seed),
            shown(ours.totals) if ours.planned() else ours.status,
            ours.status,
            f"{ours.seconds * 1e3:.1f} ms",
            f"{theirs.solver}, {theirs.model}",
            said,
            "proved" if theirs.proved() else "not proved",
            f"{theirs.seconds:.3f} s",
            factor(ratio(ours, theirs), not theirs.proved()),
        ])
    header = ["N × L", "share", "seed", "ours", "", "time", "solver, model", "theirs", "", "time", "theirs ÷ ours"]
    return markdown(header, rows)


def sizes_table(pairs: list) -> str:
    """One line for each size and solver. Times and ratios are of what fits: where it doesn't, the planner also works out
    what is left over and what to add, and the solvers only that it doesn't fit."""
    groups: dict = {}
    for ours, theirs in pairs:
        groups.setdefault((ours.cylinders, ours.lots, theirs.solver, theirs.model), []).append((ours, theirs))
    rows = []
    for (cylinders, lots, solver, model), group in groups.items():
        fit = [(ours, theirs) for ours, theirs in group if ours.planned()]
        mine = [ours.seconds * 1e3 for ours, _ in fit] or [0.0]
        their = [theirs.seconds for _, theirs in fit] or [0.0]
        ratios = [ratio(ours, theirs) for ours, theirs in fit] or [0.0]
        open_ended = any(not theirs.proved() for _, theirs in fit)
        rows.append([
            f"{cylinders} × {lots}",
            f"{len(group)}" if len(fit) == len(group) else f"{len(group)}, {len(group) - len(fit)} don't fit",
            f"{sum(ours.status in ('proved', 'short') for ours, _ in group)}",
            f"{statistics.median(mine):.1f} / {max(mine):.1f} ms",
            f"{solver}, {model}",
            f"{sum(theirs.proved() for _, theirs in group)}",
            f"{statistics.median(their):.2f} / {max(their):.2f} s",
            factor(min(ratios), False),
            factor(statistics.median(ratios), open_ended),
        ])
    header = [
        "N × L", "problems", "proved by ours", "ours, median / largest", "solver, model", "proved by it",
        "its time, median / largest", "smallest ratio", "median ratio",
    ]
    return markdown(header, rows)

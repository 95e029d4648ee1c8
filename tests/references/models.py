"""A problem in whole divisions, and its two models as programs for any solver.

The direct model has a binary for each cylinder and lot; the class model a whole number for each class of alike cylinders
and lot. Neither may know which solver solves it.
"""

from dataclasses import dataclass, field

Plan = list  # by cylinder: the lot it goes to, or None


@dataclass
class Totals:
    """The three objectives: a number, and two weights in divisions."""

    cylinders: int
    heaviest: int
    carried: int


class Broken(Exception):
    """A solver's plan that doesn't hold in whole numbers."""


@dataclass
class Problem:
    """Charges by lot, bases by cylinder, tops by cylinder and lot (None: it may not take the lot)."""

    charges: list
    bases: list
    tops: list

    def room(self, cylinder: int, lot: int, lift: int | None) -> int:
        """Divisions of room, up to a heaviest lift where there is one."""
        top = self.tops[cylinder][lot]
        if top is None:
            return 0
        return max(0, (top if lift is None else min(top, lift)) - self.bases[cylinder])

    def highest(self) -> int:
        """The highest of all tops."""
        return max(top for tops in self.tops for top in tops if top is not None)

    def totals(self, plan: Plan) -> Totals:
        """The objectives of a plan, its amounts levelled; raises where it doesn't hold."""
        heaviest, carried = 0, sum(self.charges)
        for lot, charge in enumerate(self.charges):
            chosen = [cylinder for cylinder, to in enumerate(plan) if to == lot]
            if any(self.room(cylinder, lot, None) == 0 for cylinder in chosen):
                raise Broken(f"lot {lot}: a cylinder that may not take it")
            if sum(self.room(cylinder, lot, None) for cylinder in chosen) < charge or len(chosen) > charge:
                raise Broken(f"lot {lot}: its charge doesn't go in")
            # Every cylinder gets at least one division.
            low = max(self.bases[cylinder] for cylinder in chosen) + 1
            high = max(low, self.highest())
            while low < high:
                middle = (low + high) // 2
                if sum(self.room(cylinder, lot, middle) for cylinder in chosen) >= charge:
                    high = middle
                else:
                    low = middle + 1
            heaviest = max(heaviest, low)
            carried += sum(self.bases[cylinder] for cylinder in chosen)
        return Totals(sum(to is not None for to in plan), heaviest, carried)


@dataclass
class Program:
    """Minimise cost · x, lower ≤ x ≤ upper, low ≤ row · x ≤ high; every number here is whole."""

    lower: list = field(default_factory=list)
    upper: list = field(default_factory=list)
    cost: list = field(default_factory=list)
    # Where it needn't be asked for a whole number, because one comes out or may be had at the same cost.
    relaxed: set = field(default_factory=set)
    rows: list = field(default_factory=list)

    def variable(self, lower: int, upper: int, cost: int = 0, relaxed: bool = False) -> int:
        self.lower.append(lower)
        self.upper.append(upper)
        self.cost.append(cost)
        if relaxed:
            self.relaxed.add(len(self.cost) - 1)
        return len(self.cost) - 1

    def row(self, terms: list, low: int | None = None, high: int | None = None):
        """Terms are (variable, factor)."""
        self.rows.append((terms, low, high))


class Direct:
    """A binary for each cylinder and lot."""

    name = "direct"

    def __init__(self, problem: Problem):
        self.problem = problem

    def chosen(self, program: Program, lift: int | None, most: int | None, cost) -> dict:
        """The binaries and what holds for them without amounts; `cost(cylinder)` is what a cylinder costs."""
        problem, x = self.problem, {}
        lots = range(len(problem.charges))
        for cylinder in range(len(problem.bases)):
            for lot in lots:
                if problem.room(cylinder, lot, lift) > 0:
                    x[cylinder, lot] = program.variable(0, 1, cost(cylinder))
            may = [(x[cylinder, lot], 1) for lot in lots if (cylinder, lot) in x]
            if len(may) > 1:
                program.row(may, high=1)
        for lot, charge in enumerate(problem.charges):
            takes = [(variable, problem.room(at[0], lot, lift)) for at, variable in x.items() if at[1] == lot]
            program.row(takes, low=charge)
            program.row([(variable, 1) for variable, _ in takes], high=charge)
        if most is not None:
            program.row([(variable, 1) for variable in x.values()], high=most)
        return x

    def plan(self, x: dict, values: list) -> Plan:
        plan: Plan = [None] * len(self.problem.bases)
        for (cylinder, lot), variable in x.items():
            if values[variable] > 0.5:
                plan[cylinder] = lot
        return plan

    def fewest(self):
        """The program, and what makes a plan of its values."""
        program = Program()
        x = self.chosen(program, None, None, lambda cylinder: 1)
        return program, lambda values: self.plan(x, values), lambda plan: {}

    def least(self, most: int, lift: int):
        """Least weight carried, but for the charges."""
        program = Program()
        x = self.chosen(program, lift, most, lambda cylinder: self.problem.bases[cylinder])
        return program, lambda values: self.plan(x, values), lambda plan: self.start(x, plan)

    def lightest(self, most: int):
        """Lowest heaviest lift Z: amounts a with x ≤ a ≤ room · x, their sum the charge, base · x + a ≤ Z."""
        problem, program = self.problem, Program()
        x = self.chosen(program, None, most, lambda cylinder: 0)
        heaviest = program.variable(0, problem.highest(), 1)
        a = {}
        for (cylinder, lot), variable in x.items():
            room = problem.room(cylinder, lot, None)
            # With x and Z whole, the amounts may be had whole: rows of bounds and one sum.
            a[cylinder, lot] = program.variable(0, room, relaxed=True)
            program.row([(a[cylinder, lot], 1), (variable, -room)], high=0)
            program.row([(a[cylinder, lot], 1), (variable, -1)], low=0)
        for cylinder, base in enumerate(problem.bases):
            mine = [at for at in x if at[0] == cylinder]
            stop = [(x[at], base) for at in mine] + [(a[at], 1) for at in mine]
            program.row(stop + [(heaviest, -1)], high=0)
        for lot, charge in enumerate(problem.charges):
            program.row([(variable, 1) for at, variable in a.items() if at[1] == lot], low=charge, high=charge)
        return program, lambda values: self.plan(x, values), lambda plan: self.start(x, plan)

    def start(self, x: dict, plan: Plan) -> dict:
        """What a known plan says of the binaries, as a start for the solver."""
        return {variable: int(plan[at[0]] == at[1]) for at, variable in x.items()}


class Classes:
    """A whole number for each class of alike cylinders and lot."""

    name = "classes"

    def __init__(self, problem: Problem):
        self.problem = problem

    def covered(self, lift: int | None, most: int | None, by_weight: bool, count: bool):
        """The covering program at a lift; alike means alike in room, and by weight in weight too."""
        problem, program = self.problem, Program()
        lots = range(len(problem.charges))
        classes: dict = {}
        for cylinder, base in enumerate(problem.bases):
            rooms = tuple(problem.room(cylinder, lot, lift) for lot in lots)
            classes.setdefault((rooms, base if by_weight else None), []).append(cylinder)
        y = {}
        for (rooms, base), members in classes.items():
            cost = base if by_weight else int(count)
            mine = [lot for lot in lots if rooms[lot] > 0]
            for lot in mine:
                y[rooms, base, lot] = program.variable(0, len(members), cost)
            if len(mine) > 1:
                program.row([(y[rooms, base, lot], 1) for lot in mine], high=len(members))
        for lot, charge in enumerate(problem.charges):
            takes = [(variable, at[0][lot]) for at, variable in y.items() if at[2] == lot]
            program.row(takes, low=charge)
            program.row([(variable, 1) for variable, _ in takes], high=charge)
        if most is not None:
            program.row([(variable, 1) for variable in y.values()], high=most)

        def plan(values: list) -> Plan:
            left = {key: list(members) for key, members in classes.items()}
            plan: Plan = [None] * len(problem.bases)
            for (rooms, base, lot), variable in y.items():
                for _ in range(round(values[variable])):
                    plan[left[rooms, base].pop(0)] = lot
            return plan

        return program, plan, lambda plan: {}

    def fewest(self):
        return self.covered(None, None, by_weight=False, count=True)

    def fits(self, most: int, lift: int):
        """Whether so many cylinders do at a lift: no cost."""
        return self.covered(lift, most, by_weight=False, count=False)

    def least(self, most: int, lift: int):
        return self.covered(lift, most, by_weight=True, count=False)

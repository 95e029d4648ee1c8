"""Makes the table of refrigerants (table.txt) and the check values (check_values.csv of tests/references/).

    python3 generate.py            writes both
    python3 generate.py --check    computes again and compares with what is committed; one unit of the last digit
                                   may differ; exits with 1 on any other difference or where the errors of
                                   interpolation pass their bounds

Needs the CoolProp of requirements.txt. README.md beside this file says what the columns mean.
"""

import argparse
import csv
import itertools
import math
import multiprocessing
import pathlib
import re
import statistics
import sys

import saturation

HERE = pathlib.Path(__file__).resolve().parent
TABLE = HERE / "table.txt"
CHECK_VALUES = HERE.parents[2] / "tests" / "references" / "coolprop_check_values.csv"

LOWEST, HIGHEST = -40.0, 110.0  # C, the ends of the table
BELOW_CRITICAL = 5.0  # K; nearer to the critical point no limit is computed
KNOT_STEP = 5.0  # C between the knots to begin with; halved where the error asks for it
CLOSEST_KNOTS = 0.3  # C
DENSITY_BOUND, PRESSURE_BOUND = 1e-4, 2e-4  # relative errors of interpolation that are allowed
# Where knots are added already: under the bounds, so that the last printed digit doesn't decide.
DENSITY_AIM, PRESSURE_AIM = 6e-5, 1e-4

# Grade C although no pair is missing: density known to about 2 % only (the pairs' volume is not fitted, and
# measured densities of these differ from the model).
DOUBTFUL_DENSITY = {"R-419A", "R-419B", "R-430A", "R-431A", "R-465A", "R-500", "R-504", "R-509A"}
# Grade C likewise: the printed bubble points (-46.6 and -46.5 C, from memory) mean 6 and 4 % more pressure than here.
DOUBTFUL_PRESSURE = {"R-432A", "R-464A"}
CHECKED = (-27.3, 3.4, 21.11, 37.7, 54.44, 63.7, 92.2)  # C, where the program is checked: 21.11 = 70 F, 54.44 = 130 F
NEGLIGIBLE_SHARE = 0.02  # mass and mole fraction up to which a component with missing pairs costs grade B, not C

HEADER = """\
# Saturated-liquid density and bubble pressure of refrigerants. Made by generate.py from CoolProp 8.0.0; don't edit.
# name|group|grade|critical temperature K|molar mass g/mol|components|mass %|UN|chemical names|marks|points
# marks: composition,group,UN: lists, handbook, read, memory or - (see blends.csv and singles.csv)
# points: temperature C, density kg/m3, bubble pressure kPa absolute; separated by ;
# Between the points: 4-point Lagrange, density in (1 - T/Tc)^(1/3), logarithm of the pressure in T.
"""


def rows_of(name):
    with open(HERE / name, encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def lagrange(xs, ys, x):
    total = 0.0
    for i, (xi, yi) in enumerate(zip(xs, ys)):
        term = yi
        for j, xj in enumerate(xs):
            if j != i:
                term *= (x - xj) / (xi - xj)
        total += term
    return total


def interpolate(points, critical, celsius):
    """What the program computes from the printed points: (density kg/m3, pressure kPa)."""
    above = next(i for i, point in enumerate(points) if point[0] >= celsius - 1e-9)
    first = min(max(above - 2, 0), len(points) - 4)
    near = points[first : first + 4]

    def reduced(t):
        return math.cbrt(1.0 - (t + 273.15) / critical)

    density = lagrange([reduced(p[0]) for p in near], [p[1] for p in near], reduced(celsius))
    log_pressure = lagrange([p[0] for p in near], [math.log(p[2]) for p in near], celsius)
    return density, math.exp(log_pressure)


def printed(source, celsius):
    """A point as the table prints it."""
    density, pascal = source.at(celsius + 273.15)
    return celsius, round(density, 2), float(f"{pascal / 1000.0:.6g}")


def between(low, high):
    """Temperatures off the knots at which an interval is measured, hundredths of a degree."""
    return [round(low + share * (high - low), 2) for share in (0.2, 0.45, 0.7)]


def errors(points, critical, source, interval):
    """The worst relative error of density and of pressure inside one interval."""
    worst_density = worst_pressure = 0.0
    for celsius in between(points[interval][0], points[interval + 1][0]):
        density, pressure = interpolate(points, critical, celsius)
        true_density, pascal = source.at(celsius + 273.15)
        worst_density = max(worst_density, abs(density / true_density - 1.0))
        worst_pressure = max(worst_pressure, abs(pressure * 1000.0 / pascal - 1.0))
    return worst_density, worst_pressure


def knots(source, critical):
    """Points close enough that interpolation keeps its aims, and the worst errors that remain."""
    start = max(LOWEST, KNOT_STEP * math.ceil((source.lowest - 273.15 - 1e-6) / KNOT_STEP))
    end = min(HIGHEST, round(critical - 273.15 - BELOW_CRITICAL, 2), math.floor((source.highest - 273.15) * 100) / 100)
    whole = range(int((end - start) / KNOT_STEP) + 1)
    temperatures = [t for t in (start + KNOT_STEP * i for i in whole) if t < end - 1.0] + [end]
    points = [printed(source, t) for t in temperatures]
    while True:
        misses, worst = [], (0.0, 0.0)
        for i in range(len(points) - 1):
            density, pressure = errors(points, critical, source, i)
            worst = (max(worst[0], density), max(worst[1], pressure))
            if density > DENSITY_AIM or pressure > PRESSURE_AIM:
                if points[i + 1][0] - points[i][0] > 2 * CLOSEST_KNOTS:
                    misses.append(round((points[i][0] + points[i + 1][0]) / 2.0, 2))
        if not misses:
            return points, worst
        points = sorted(points + [printed(source, t) for t in misses])


def prepare(blends, fluid_of):
    """What CoolProp knows of every pair in the blends; the missing ones are then estimated, for all processes."""
    kinds = {}
    for row in blends:
        for a, b in itertools.combinations(sorted(row["components"].split("/")), 2):
            kinds.setdefault((a, b), saturation.pair_kind(fluid_of[a], fluid_of[b]))
    gammas = typical_gammas(kinds, fluid_of)
    for (a, b), kind in kinds.items():
        if kind == "missing":
            saturation.estimate(fluid_of[a], fluid_of[b], gammas[chemistry_of(a, b, fluid_of)])
    return kinds


def chemistry_of(a, b, fluid_of):
    return tuple(sorted(saturation.chemistry(fluid_of[part]) for part in (a, b)))


def typical_gammas(kinds, fluid_of, but=None):
    """How far unlike molecules lower (or raise) the reducing temperature: for each combination of chemistries the
    median over the pairs that are fitted to vapour-liquid equilibrium (but one, where the estimate is measured)."""
    fitted = {}
    for (a, b), kind in kinds.items():
        if kind == "equilibrium" and (a, b) != but:
            gamma = float(saturation.pair_parameter(fluid_of[a], fluid_of[b], "gammaT"))
            fitted.setdefault(chemistry_of(a, b, fluid_of), []).append(gamma)
    return {chemistry: statistics.median(gammas) for chemistry, gammas in fitted.items()}


def grade_of(name, kinds, shares):
    """A: every pair has a departure function or fitted volume parameters. B: at least one is fitted to
    vapour-liquid equilibrium alone. C: at least one is missing and estimated, or density or pressure are doubtful; where
    the components that cause it make up 2 % or less, by mass and by mole, it is B. `shares` maps a component to both."""
    if name in DOUBTFUL_DENSITY | DOUBTFUL_PRESSURE:
        return "C"
    pairs = {pair: kinds[pair] for pair in itertools.combinations(sorted(shares), 2)}
    if "missing" in pairs.values():
        cause = {min(pair, key=lambda part: shares[part]) for pair, kind in pairs.items() if kind == "missing"}
        sums = [sum(shares[part][measure] for part in cause) for measure in (0, 1)]
        return "B" if max(sums) <= NEGLIGIBLE_SHARE else "C"
    return "B" if "equilibrium" in pairs.values() else "A"


def source_of(row, fluid_of, kinds):
    """The refrigerant's properties, its grade, and the two columns of its composition."""
    if "fluid" in row:
        return saturation.Pure(row["fluid"]), "A", row["name"].removeprefix("R-"), "100"
    parts = row["components"].split("/")
    fractions = [float(text) / 100.0 for text in row["mass"].split("/")]
    if len(parts) != len(fractions) or abs(sum(fractions) - 1.0) > 1e-9:
        raise ValueError("the mass per cent don't sum to 100")
    fluids = [fluid_of[part] for part in parts]
    blend = saturation.Blend(fluids, fractions, LOWEST + 273.15, HIGHEST + 273.15)
    shares = dict(zip(parts, zip(fractions, blend.mole_fractions)))
    return blend, grade_of(row["name"], kinds, shares), row["components"], row["mass"]


def make(task):
    """A row of the table, the lines of check values, and the worst errors of interpolation."""
    row, fluid_of, kinds = task
    name = row["name"]
    try:
        source, grade, components, mass = source_of(row, fluid_of, kinds)
        critical = round(source.critical, 2)
        points, worst = knots(source, critical)
        for low, high in itertools.pairwise(points):
            if not (high[1] < low[1] and high[2] > low[2]):
                raise ValueError(f"not physical between {low[0]} and {high[0]} C")
        checks = []
        for celsius in (*CHECKED, round(points[-1][0] - 0.7, 2)):
            if points[0][0] < celsius < points[-1][0]:
                density, pascal = source.at(celsius + 273.15)
                checks.append(f"{name},{celsius:g},{density:.3f},{pascal / 1000.0:.6g}")
    except ValueError as error:
        raise SystemExit(f"{name}: {error}") from error
    marks = ",".join((row.get("mass_mark", "-"), row["group_mark"], row["un_mark"] or "-"))
    columns = [name, row["group"], grade, f"{critical:.2f}", f"{source.molar_mass:.3f}", components, mass,
               row["un"] or "-", row.get("chemical_names", ""), marks,
               ";".join(f"{t:g} {d:.2f} {p:.6g}" for t, d, p in points)]
    return "|".join(columns), checks, (name, *worst), len(points)


def generate():
    """The texts of the table and of the check values; prints the counts by grade and the worst errors."""
    singles, blends = rows_of("singles.csv"), rows_of("blends.csv")
    fluid_of = {row["name"].removeprefix("R-"): row["fluid"] for row in singles}
    kinds = prepare(blends, fluid_of)
    tasks = [(row, fluid_of, kinds) for row in singles + blends]
    with multiprocessing.get_context("fork").Pool() as pool:
        made = pool.map(make, tasks, chunksize=1)
    grades = [line.split("|")[2] for line, *_ in made]
    print(f"{len(singles)} single components, {len(blends)} blends: "
          + ", ".join(f"{grade} {grades[len(singles):].count(grade)}" for grade in "ABC"), end="; ")
    print(f"{sum(count for *_, count in made)} points")
    density = max((worst for _, _, worst, _ in made), key=lambda worst: worst[1])
    pressure = max((worst for _, _, worst, _ in made), key=lambda worst: worst[2])
    print(f"worst interpolation error: density {density[1]:.4%} ({density[0]}), pressure {pressure[2]:.4%} "
          f"({pressure[0]})")
    if density[1] > DENSITY_BOUND or pressure[2] > PRESSURE_BOUND:
        raise SystemExit(f"over the bounds of {DENSITY_BOUND:.2%} and {PRESSURE_BOUND:.2%}")
    table = HEADER + "".join(line + "\n" for line, *_ in made)
    checks = "name,temperature C,density kg/m3,bubble pressure kPa\n"
    return table, checks + "".join(line + "\n" for _, lines, *_ in made for line in lines)


def differences(committed, made):
    """Places where two texts differ by more than one unit of the last printed digit."""
    found = []
    old_lines, new_lines = committed.splitlines(), made.splitlines()
    if len(old_lines) != len(new_lines):
        found.append(f"{len(old_lines)} lines committed, {len(new_lines)} made")
    for old_line, new_line in zip(old_lines, new_lines):
        old, new = (re.split("([|;, ])", line) for line in (old_line, new_line))
        if len(old) != len(new) or not all(map(same, old, new)):
            found.append(f"committed {old_line[:60]}..., made {new_line[:60]}...")
    return found


def same(old, new):
    if old == new:
        return True
    try:
        units = [10.0 ** -len(text.partition(".")[2]) for text in (old, new)]
        return abs(float(old) - float(new)) <= 1.001 * max(units)
    except ValueError:
        return False


def main():
    parser = argparse.ArgumentParser(description="Makes the table of refrigerants.")
    parser.add_argument("--check", action="store_true", help="compare with the committed files instead of writing")
    arguments = parser.parse_args()
    made = dict(zip((TABLE, CHECK_VALUES), generate()))
    found = []
    for path, text in made.items():
        if arguments.check:
            found += [f"{path.name}: {line}" for line in differences(path.read_text(encoding="utf-8"), text)]
        else:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
    print("\n".join(found) or ("no difference" if arguments.check else "written"))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())

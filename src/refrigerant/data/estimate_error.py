"""How far the estimate for missing pairs strays, measured where it isn't needed.

Every pair of the blends that CoolProp has parameters for is computed with them, with the estimate of generate.py (the
pair itself left out of the median), and with the plain Lorentz-Berthelot rule, 60 K below the lower critical temperature,
at one tenth, one half and nine tenths of the first component by mole.

    python3 estimate_error.py
"""

import itertools
import statistics

from CoolProp import CoolProp as CP

import generate
import saturation


def properties(fluids, share):
    """(density, bubble pressure) of a fresh mixture."""
    kelvin = min(CP.PropsSI("Tcrit", fluid) for fluid in fluids) - 60.0
    state = CP.AbstractState("HEOS", "&".join(fluids))
    state.set_mole_fractions([share, 1.0 - share])
    state.update(CP.QT_INPUTS, 0.0, kelvin)
    return state.rhomass(), state.p()


def deviations(pair, gammas, fluid_of):
    """For each rule the deviations in per cent of density and pressure from CoolProp's own parameters."""
    fluids = [fluid_of[part] for part in pair]
    shares = (0.1, 0.5, 0.9)
    own = [properties(fluids, share) for share in shares]
    found = {}
    for rule, gamma in gammas.items():
        saturation.estimate(*fluids, gamma)
        found[rule] = [[100.0 * (a / b - 1.0) for a, b in zip(properties(fluids, share), model)]
                       for share, model in zip(shares, own)]
    return found


def main():
    CP.set_config_bool(CP.OVERWRITE_BINARY_INTERACTION, True)
    fluid_of = {row["name"].removeprefix("R-"): row["fluid"] for row in generate.rows_of("singles.csv")}
    pairs = {pair for row in generate.rows_of("blends.csv")
             for pair in itertools.combinations(sorted(row["components"].split("/")), 2)}
    kinds = {pair: saturation.pair_kind(*(fluid_of[part] for part in pair)) for pair in sorted(pairs)}
    known = [pair for pair, kind in kinds.items() if kind != "missing"]
    gammas = {pair: {"estimate": generate.typical_gammas(kinds, fluid_of, but=pair)[
                         generate.chemistry_of(*pair, fluid_of)], "plain": 1.0} for pair in known
              if generate.chemistry_of(*pair, fluid_of) in generate.typical_gammas(kinds, fluid_of, but=pair)}
    measured, skipped = [], 0
    for pair, rules in gammas.items():
        try:
            measured.append((pair, deviations(pair, rules, fluid_of)))
        except ValueError:
            skipped += 1  # boils too far apart for a flash without a guess
    print(f"{len(measured)} pairs, {skipped} skipped")
    for rule in ("estimate", "plain"):
        for place, what in enumerate(("density", "pressure")):
            found = [(one[place], pair) for pair, rules in measured for one in rules[rule]]
            sizes = sorted((abs(size), "/".join(pair)) for size, pair in found)
            print(f"{rule}: {what}: mean {statistics.mean(size for size, _ in found):+.1f} %, median size "
                  f"{statistics.median(size for size, _ in sizes):.1f} %, nine tenths within "
                  f"{sizes[int(0.9 * len(sizes))][0]:.1f} %, worst {sizes[-1][0]:.1f} % ({sizes[-1][1]})")


if __name__ == "__main__":
    main()

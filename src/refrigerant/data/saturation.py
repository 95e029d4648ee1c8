"""Saturated liquid of one refrigerant out of CoolProp: density and bubble pressure at any temperature.

Must not know the table's form. Temperatures in kelvin, pressures in pascals, densities in kg/m3.
"""

import math

import CoolProp
from CoolProp import CoolProp as CP

STEP = 1.0  # K between the states that a blend's continuation keeps
SHORTEST_STEP = 1.0 / 64  # K; where even this fails the continuation ends


class Pure:
    """A single-component refrigerant."""

    def __init__(self, fluid):
        self.state = CP.AbstractState("HEOS", fluid)
        self.critical = self.state.T_critical()
        self.molar_mass = self.state.molar_mass() * 1000.0
        self.lowest = self.state.Ttriple()
        self.highest = self.critical

    def at(self, kelvin):
        """(density, bubble pressure)"""
        self.state.update(CoolProp.QT_INPUTS, 0.0, kelvin)
        return self.state.rhomass(), self.state.p()


class Blend:
    """A blend: its bubble points by continuation in temperature, because the flash at a fixed temperature and
    quality fails by itself near 55 C for many blends, while from a neighbouring solution it converges."""

    def __init__(self, fluids, mass_fractions, lowest, highest):
        molar = [CP.PropsSI("M", fluid) for fluid in fluids]
        moles = [w / m for w, m in zip(mass_fractions, molar)]
        self.mole_fractions = [n / sum(moles) for n in moles]
        self.fluids = fluids
        self.state = self._new_state(self.mole_fractions)
        self.molar_mass = self.state.molar_mass() * 1000.0
        self.critical = self._critical_temperature()
        self._continue(lowest, min(highest, self.critical - 1.0))
        self.lowest, self.highest = min(self.solved), max(self.solved)

    def _new_state(self, mole_fractions):
        state = CP.AbstractState("HEOS", "&".join(self.fluids))
        state.set_mole_fractions(mole_fractions)
        return state

    def _critical_temperature(self):
        """The highest stable critical point between 200 and 600 K and 1 and 10 MPa. Where the search fails, the
        mean of those with the first component moved by five thousandths down and up."""
        try:
            return self._critical_of(self.mole_fractions)
        except ValueError:
            moved = []
            for change in (-5e-3, 5e-3):
                fractions = [x / (1.0 + change) for x in self.mole_fractions]
                fractions[0] += change / (1.0 + change)
                moved.append(self._critical_of(fractions))
            return sum(moved) / len(moved)

    def _critical_of(self, mole_fractions):
        points = self._new_state(mole_fractions).all_critical_points()
        return max(p.T for p in points if p.stable and 200.0 < p.T < 600.0 and 1e6 < p.p < 1e7)

    def _first(self):
        """A state to start from: the plain flash at the first of these temperatures at which it works."""
        for celsius in (0.0, -10.0, 10.0, -20.0, 20.0, -30.0, -40.0):
            kelvin = celsius + 273.15
            if kelvin > self.critical - 15.0:
                continue
            try:
                self.state.update(CoolProp.QT_INPUTS, 0.0, kelvin)
                return kelvin, self._kept()
            except ValueError:
                continue
        raise ValueError("no temperature to start from")

    def _kept(self):
        vapour = self.state.mole_fractions_vapor()
        liquid_density = self.state.saturated_liquid_keyed_output(CoolProp.iDmolar)
        vapour_density = self.state.saturated_vapor_keyed_output(CoolProp.iDmolar)
        return {"p": self.state.p(), "y": list(vapour), "liquid": liquid_density, "vapour": vapour_density,
                "density": self.state.rhomass()}

    def _solve(self, kelvin, near):
        """The state at this temperature from the solution `near` by."""
        guesses = CoolProp.CoolProp.PyGuessesStructure()
        guesses.T = kelvin
        guesses.p = near["p"]
        guesses.rhomolar_liq, guesses.rhomolar_vap = near["liquid"], near["vapour"]
        guesses.x, guesses.y = self.mole_fractions, near["y"]
        self.state.update_with_guesses(CoolProp.QT_INPUTS, 0.0, kelvin, guesses)
        found = self._kept()
        jump = abs(math.log(found["p"] / near["p"]))
        if not 0.0 < found["p"] < 1e8 or jump > 0.2 or found["vapour"] > 0.98 * found["liquid"]:
            raise ValueError("the solution left its branch")
        return found

    def _continue(self, lowest, highest):
        start, state = self._first()
        self.solved = {start: state}
        for sign, end in ((1.0, highest), (-1.0, lowest)):
            kelvin, near, step = start, state, STEP
            while abs(kelvin - end) > 1e-9:
                step = min(step, abs(end - kelvin))
                target = kelvin + sign * step
                try:
                    near = self._solve(target, near)
                except ValueError:
                    step /= 2.0
                    if step < SHORTEST_STEP:
                        break
                    continue
                kelvin = target
                self.solved[kelvin] = near
                step = min(STEP, step * 2.0)

    def at(self, kelvin):
        """(density, bubble pressure)"""
        nearest = sorted(self.solved, key=lambda t: abs(t - kelvin))[:4]
        for candidate in nearest:
            try:
                found = self._solve(kelvin, self.solved[candidate])
                return found["density"], found["p"]
            except ValueError:
                continue
        raise ValueError(f"no bubble point at {kelvin:.2f} K")


def estimate(a, b, gamma):
    """Parameters for a pair that CoolProp has none for: the Lorentz-Berthelot rule (reducing volume the mean of the
    cube roots, reducing temperature the geometric mean) with the reducing temperature of unlike molecules times
    `gamma`. Takes the place of what CoolProp may have."""
    numbers = cas_numbers(a, b)
    CP.apply_simple_mixing_rule(*numbers, "Lorentz-Berthelot")
    for order in (numbers, numbers[::-1]):
        try:
            CP.set_mixture_binary_pair_data(*order, "gammaT", gamma)
            return
        except ValueError:
            continue
    raise ValueError(f"no pair {a}, {b} to give parameters to")


def cas_numbers(a, b):
    return [CP.get_fluid_param_string(fluid, "CAS") for fluid in (a, b)]


def pair_parameter(a, b, key):
    """A parameter of a pair as text; None where CoolProp has none. CoolProp knows a pair in one order only."""
    numbers = cas_numbers(a, b)
    for order in (numbers, numbers[::-1]):
        try:
            return CP.get_mixture_binary_pair_data(*order, key)
        except ValueError:
            continue
    return None


def pair_kind(a, b):
    """What CoolProp knows of a pair: "volume" (a departure function or fitted volume parameters), "equilibrium"
    (fitted to vapour-liquid equilibrium alone) or "missing". Ask before any pair is estimated."""
    kind = pair_parameter(a, b, "type")
    if kind is None:
        return "missing"
    if kind == "Lemmon-xi-zeta" or (pair_parameter(a, b, "function") and float(pair_parameter(a, b, "F")) != 0.0):
        return "volume"
    fitted = any(float(pair_parameter(a, b, key)) != 1.0 for key in ("betaV", "gammaV"))
    return "volume" if fitted else "equilibrium"


def chemistry(fluid):
    """"halocarbon", "hydrocarbon" or "other", from the formula."""
    formula = CP.get_fluid_param_string(fluid, "formula")
    if any(halogen in formula for halogen in ("F", "Cl", "I")):
        return "halocarbon"
    return "other" if "O" in formula else "hydrocarbon"

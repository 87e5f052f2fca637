"""The energy of a compressed gas by four models, of which none is the largest everywhere. Pure.

Pressures are absolute. r = P₁/P₀, vessel over surroundings. For every γ > 1 and r ≥ 1 the isentropic energy
is at most Brode's and at most the isothermal one, and the availability at most the isothermal one. No more
than that: at γ = 1.4 the isothermal energy passes Brode's at r = 9.31, and the availability passes the
isentropic energy at 6.65 and Brode's at 29.4.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import expm1, log

from permits.plant.rules.stores.impossible import ImpossibleStore, above, above_zero, at_least, number

ATMOSPHERE_PA = 101_325.0  # standard atmosphere
GAMMA_AIR = 1.4  # ratio of specific heats; air and nitrogen


class Model(StrEnum):
    """How the gas is taken to expand down to its surroundings."""

    BRODE = "brode"  # the energy that raises the pressure at constant volume (Brode 1959)
    ISENTROPIC = "isentropic"  # fast, no heat taken in: a vessel that bursts
    ISOTHERMAL = "isothermal"  # slow, heat taken in all the time
    AVAILABILITY = "availability"  # isothermal, less what pushes the surrounding air back

    @property
    def words(self) -> str:
        """Its name in a sentence, before "model"."""
        return "Brode's" if self is Model.BRODE else f"the {self.value}"


class Tnt(StrEnum):
    """Two conventions for the same comparison; say which."""

    PCC_2 = "4.266920 MJ/kg"  # ASME PCC-2, article 501 [2]
    BERKELEY = "4.62 MJ/kg"  # UC Berkeley EHS [C]


@dataclass(frozen=True, slots=True)
class Energy:
    """An energy in J with the model it was computed by and why that one."""

    energy_j: float
    model: Model
    why: str


def absolute_pa(gauge_pa: float, ambient_pa: float = ATMOSPHERE_PA) -> float:
    """Absolute from gauge pressure, in Pa. Raises ImpossibleStore, also below a vacuum."""
    sum_pa = number("gauge_pa", gauge_pa) + above_zero("ambient_pa", ambient_pa)
    if sum_pa <= 0:
        raise ImpossibleStore("gauge_pa", f"is {gauge_pa:g}, below a vacuum", f"above −{ambient_pa:g}")
    return sum_pa


def energy_j(
    pressure_pa: float,
    volume_m3: float,
    model: Model,
    *,
    ambient_pa: float = ATMOSPHERE_PA,
    gamma: float = GAMMA_AIR,
) -> float:
    """The energy, in J, of `volume_m3` of gas at the absolute `pressure_pa`, by the named model.

    Raises ImpossibleStore, also where the pressure is below the surroundings (a gauge value was given, or it
    is a vacuum). Sources: Brode as in Crowl, *Understanding Explosions*, App. B [C]; isentropic [C];
    isothermal [2]; availability [M].
    """
    p0 = above_zero("ambient_pa", ambient_pa)
    p1 = at_least("pressure_pa", pressure_pa, p0, "the ambient pressure (pressures are absolute)")
    volume = above_zero("volume_m3", volume_m3)
    k = above("gamma", gamma, 1.0, "that of any gas")
    match model:
        case Model.BRODE:
            return (p1 - p0) * volume / (k - 1)
        case Model.ISENTROPIC:
            return p1 * volume / (k - 1) * -expm1(-(k - 1) / k * log(p1 / p0))
        case Model.ISOTHERMAL:
            return p1 * volume * log(p1 / p0)
        case Model.AVAILABILITY:
            return max(0.0, p1 * volume * (log(p1 / p0) - (1 - p0 / p1)))


def largest(
    pressure_pa: float,
    volume_m3: float,
    *,
    ambient_pa: float = ATMOSPHERE_PA,
    gamma: float = GAMMA_AIR,
) -> Energy:
    """The largest of the four, which is Brode's at low ratios and the isothermal one at high ones.

    What to take where nobody names a model: it never says less than another model would. Raises
    ImpossibleStore, as `energy_j` does.
    """
    found = {
        model: energy_j(pressure_pa, volume_m3, model, ambient_pa=ambient_pa, gamma=gamma)
        for model in (Model.BRODE, Model.ISOTHERMAL)
    }
    model = max(found, key=lambda model: found[model])
    ratio = pressure_pa / ambient_pa
    return Energy(found[model], model, f"it gives the most of the four models at a ratio of {ratio:.3g} : 1")


def pcc2_energy_j(pressure_pa: float, volume_m3: float, ambient_pa: float = 101_000.0) -> float:
    """2.5 P V [1 − (Pa/P)^0.286], in J: air or nitrogen by ASME PCC-2, article 501, appendix II [2].

    The isentropic model with its figures rounded as printed there. Raises ImpossibleStore.
    """
    p0 = above_zero("ambient_pa", ambient_pa)
    p = at_least("pressure_pa", pressure_pa, p0, "the ambient pressure (pressures are absolute)")
    return float(2.5 * p * above_zero("volume_m3", volume_m3) * (1 - (p0 / p) ** 0.286))


def tnt_kg(energy_j: float, convention: Tnt) -> float:
    """The mass of TNT, in kg, that is compared with the energy, by a named convention.

    Raises ImpossibleStore.
    """
    return above_zero("energy_j", energy_j) / (float(convention.value.split()[0]) * 1e6)

"""A store's physics as its plant file describes it, one value a kind, in the units people read off a plate.

Decimals are kept exactly as they were written. `physics.py` reads and writes them and says what each means.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from permits.plant.rules.stores.gas import Model

_AMBIENT_PA = Decimal(101_325)


@dataclass(frozen=True, slots=True)
class Capacitor:
    """A drive's DC bus or any other capacitor bank."""

    kind: ClassVar[str] = "capacitor"
    capacitance_f: Decimal
    voltage_v: Decimal
    bleeder_ohm: Decimal | None = None
    voltage_over_percent: Decimal = Decimal(10)
    capacitance_over_percent: Decimal = Decimal(20)
    bleeder_over_percent: Decimal = Decimal(5)


@dataclass(frozen=True, slots=True)
class Receiver:
    """A vessel of compressed air or nitrogen."""

    kind: ClassVar[str] = "receiver"
    volume_l: Decimal
    gauge_bar: Decimal
    orifice_mm: Decimal | None = None
    discharge: Decimal = Decimal("0.6")
    temperature_c: Decimal = Decimal(20)
    ambient_pa: Decimal = _AMBIENT_PA
    model: Model | None = None


@dataclass(frozen=True, slots=True)
class Accumulator:
    """A gas-charged hydraulic accumulator."""

    kind: ClassVar[str] = "accumulator"
    volume_l: Decimal
    precharge_gauge_bar: Decimal
    gauge_bar: Decimal
    warming_s: Decimal | None = None
    temperature_c: Decimal = Decimal(20)
    ambient_pa: Decimal = _AMBIENT_PA


@dataclass(frozen=True, slots=True)
class Spinning:
    """A mass that coasts; its moment of inertia as such or as a solid disc."""

    kind: ClassVar[str] = "spinning"
    speed_rpm: Decimal
    inertia_kg_m2: Decimal | None = None
    disc_mass_kg: Decimal | None = None
    disc_diameter_mm: Decimal | None = None
    friction_n_m: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Raised:
    """A mass that can fall."""

    kind: ClassVar[str] = "raised"
    mass_kg: Decimal
    height_m: Decimal


@dataclass(frozen=True, slots=True)
class Spring:
    """A strained spring."""

    kind: ClassVar[str] = "spring"
    stiffness_n_per_m: Decimal
    travel_mm: Decimal
    left_mm: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Hot:
    """A hot part of bare metal."""

    kind: ClassVar[str] = "hot"
    temperature_c: Decimal
    ambient_c: Decimal
    time_constant_s: Decimal | None = None
    contact_s: Decimal = Decimal(28_800)
    mass_kg: Decimal | None = None
    specific_heat_j_per_kg_k: Decimal | None = None


Physics = Capacitor | Receiver | Accumulator | Spinning | Raised | Spring | Hot
KINDS: dict[str, type[Physics]] = {
    one.kind: one for one in (Capacitor, Receiver, Accumulator, Spinning, Raised, Spring, Hot)
}
MEDIUM_OF = {
    "capacitor": "electrical",
    "receiver": "pneumatic",
    "accumulator": "hydraulic",
    "spinning": "rotating",
    "raised": "gravity",
    "spring": "spring",
    "hot": "thermal",
}

"""Where a published figure comes from, and how sure it is. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Mark(StrEnum):
    """How sure a figure is, as the project's reference of published rules marks it."""

    READ = "C"
    SECOND_HAND = "2"
    RECOMPUTED = "V"
    MEMORY = "M"
    PRACTICE = "practice"

    @property
    def words(self) -> str:
        """What a reader must know about it; empty where the document itself was read."""
        return {
            Mark.READ: "",
            Mark.SECOND_HAND: "from a second-hand text",
            Mark.RECOMPUTED: "recomputed",
            Mark.MEMORY: "from memory; read the document before relying on it",
            Mark.PRACTICE: "common practice",
        }[self]


@dataclass(frozen=True, slots=True)
class Source:
    """A document or practice, with its mark; `str()` gives both in words."""

    text: str
    mark: Mark

    def __str__(self) -> str:
        return f"{self.text} ({self.mark.words})" if self.mark.words else self.text


SHOCK_BY_CAPACITOR = Source(
    "DOE electrical hazard classification as used by LBNL, ESM table 2.2.13", Mark.READ
)
HEAT_BY_CAPACITOR = Source("DOE electrical hazard classification as used by LBNL, ESM table 2.3.5", Mark.READ)
REFLEX_BY_CAPACITOR = Source("DOE-HDBK-1092-2013, appendix D, section 7", Mark.MEMORY)
NO_LOWER_LINE = Source("29 CFR 1910.147(d)(5)(i): stored energy is made safe, no lower line named", Mark.READ)
GAS_UNDER_PRESSURE = Source(
    "Pressure Systems Safety Regulations 2000 (UK), reg. 2: gas more than 0.5 bar above the atmosphere",
    Mark.SECOND_HAND,
)
LARGE_GAS_ENERGY = Source("UC Berkeley EHS: more than 100 kJ is highly hazardous", Mark.READ)
BURNS = Source("ISO 13732-1, bare smooth metal, lower edge of its bands", Mark.MEMORY)
LIVE_PARTS = Source("29 CFR 1910.333(a)(1): parts below 50 V to ground", Mark.SECOND_HAND)
RESIDUAL_VOLTAGE = Source("IEC 60204-1, 6.2.4: 60 V within 5 s, exempt below 60 µC", Mark.SECOND_HAND)
STANDSTILL = Source("a part with viscous drag never stops by the formula: standstill is seen", Mark.PRACTICE)
STATED_PRESSURE = Source("the end pressure that the point's own test states", Mark.PRACTICE)

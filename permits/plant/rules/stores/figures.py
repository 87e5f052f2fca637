"""The figures of a store as values. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from permits.plant.rules.stores.hazard import Verdict


@dataclass(frozen=True, slots=True)
class Wait:
    """How long after isolation until a test can pass, in s, or None where no wait is known; and why."""

    seconds: float | None
    basis: str


@dataclass(frozen=True, slots=True)
class Numbers:
    """A store in figures and words.

    energy_j           what it holds at its stated values, in J; None where that is not described
    hazardous          whether it can hurt, at the unfavourable end of its tolerances
    hazard_why, hazard_threshold, hazard_source   the reason, the line and where the line comes from
    hazard_published   the published line, where the site's own one is tighter; else ""
    wait_s, wait_basis seconds until a test can pass, or None where no wait is known; how that was found
    assumptions        what the figures rest on, one sentence each
    comes_back         how energy can come back after the release
    stays_j            what the release does not take away, in J: the gas of an accumulator
    """

    energy_j: float | None
    hazardous: bool
    hazard_why: str
    hazard_threshold: str
    hazard_source: str
    wait_s: float | None
    wait_basis: str
    assumptions: tuple[str, ...]
    comes_back: str
    stays_j: float = 0.0
    hazard_published: str = ""

    @classmethod
    def of(
        cls,
        energy_j: float | None,
        verdict: Verdict,
        wait: Wait,
        assumptions: tuple[str, ...],
        comes_back: str,
        stays_j: float = 0.0,
    ) -> Numbers:
        return cls(
            energy_j=energy_j,
            hazardous=verdict.hazardous,
            hazard_why=verdict.why,
            hazard_threshold=verdict.threshold,
            hazard_source=str(verdict.source),
            wait_s=wait.seconds,
            wait_basis=wait.basis,
            assumptions=assumptions,
            comes_back=comes_back,
            stays_j=stays_j,
            hazard_published=verdict.published,
        )

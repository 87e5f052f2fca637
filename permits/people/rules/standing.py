"""Is this person authorised for this machine on this day, and qualified to measure absence of voltage?"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from permits.people.rules.dates import in_words


class Authority(Protocol):
    """One authorisation, as a table row or as a value. `expires_on` is the last day on which it holds."""

    @property
    def machine(self) -> str: ...
    @property
    def qualified(self) -> bool: ...
    @property
    def starts_on(self) -> date: ...
    @property
    def expires_on(self) -> date: ...
    @property
    def withdrawn(self) -> bool: ...


@dataclass(frozen=True, slots=True)
class Grant:
    """An authorisation as a value."""

    machine: str
    qualified: bool
    starts_on: date
    expires_on: date
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Standing:
    """What a person may do at one machine on one day.

    `expires_on` is the last day of the authorisation that holds (or that held last), `qualified_until`
    the last day on which the person is qualified too; None where there is none.
    """

    authorised: bool
    qualified: bool
    reason: str
    expires_on: date | None = None
    qualified_until: date | None = None


def standing(authorisations: Iterable[Authority], machine: str, day: date) -> Standing:
    """The standing at `machine` on `day` (the site's own calendar day), with its reason in words."""
    here = [one for one in authorisations if one.machine == machine]
    live = [one for one in here if not one.withdrawn]
    holding = [one for one in live if one.starts_on <= day <= one.expires_on]
    if holding:
        return _held(holding, machine)
    if later := [one for one in live if one.starts_on > day]:
        first = min(later, key=lambda one: one.starts_on)
        return Standing(
            False,
            False,
            f"The authorisation for {machine} starts on {in_words(first.starts_on)}.",
            first.expires_on,
        )
    if live:
        last = max(one.expires_on for one in live)
        return Standing(
            False, False, f"The authorisation for {machine} expired after {in_words(last)}.", last
        )
    if here:
        return Standing(False, False, f"The authorisation for {machine} was withdrawn.")
    return Standing(False, False, f"No authorisation for {machine}.")


def authorised_on(authorisations: Iterable[Authority], machine: str, day: date) -> bool:
    """Whether the person may lock out `machine` on `day`."""
    return standing(authorisations, machine, day).authorised


def _held(holding: list[Authority], machine: str) -> Standing:
    expires_on = max(one.expires_on for one in holding)
    qualified_until = max((one.expires_on for one in holding if one.qualified), default=None)
    reason = f"Authorised for {machine} until {in_words(expires_on)}, "
    if qualified_until is None:
        reason += "not qualified to measure absence of voltage."
    elif qualified_until == expires_on:
        reason += "qualified to measure absence of voltage."
    else:
        reason += f"qualified to measure absence of voltage until {in_words(qualified_until)}."
    return Standing(True, qualified_until is not None, reason, expires_on, qualified_until)

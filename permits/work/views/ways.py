"""Where a next step leads: its address, as components/next_step.html takes it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode

from django.urls import NoReverseMatch, reverse

from permits.work.queries import PermitPage
from permits.work.rules.step import Step

NO_MACHINE = "-"  # stands in addresses for points that belong to no machine

# Steps whose page is in a room above this one; an address is all that this room knows of it.
ELSEWHERE = {"open-job": "calibration:open-job", "job": "calibration:job"}
OF_THE_SITE = ("end-emergency", "end-paper", "tell-returned")  # no permit in the address
PINNED = "stop-work"  # always in sight at the foot of the page, so not in the list as well
BY_MACHINE = ("verify", "try-start")
AT_A_POINT = ("lock", "release", "reisolate")


@dataclass(frozen=True, slots=True)
class Way:
    """A step with its address; without one, someone else or time is awaited."""

    title: str
    text: str
    url: str
    button: str
    until: datetime | None = None


def way(reference: str, step: Step, *, code: str = "") -> Way:
    """`code`: the plate's code, when the step starts at a point that was just scanned."""
    url = address(reference, step.action, step.machine) if step.action else ""
    if url and code and step.action in AT_A_POINT:
        url += "?" + urlencode({"code": code})
    return Way(step.title, step.why, url, step.title, step.until)


def other_ways(page: PermitPage) -> list[tuple[str, str]]:
    """(address, title) of everything else this person may do."""
    others = [choice for choice in page.choices if choice.action != PINNED]
    found = [(address(page.id, choice.action), choice.title) for choice in others]
    return [(url, title) for url, title in found if url]


def address(reference: str, action: str, machine: str | None = None) -> str:
    """The page of an action; "" where no room has one."""
    if action == "ask-for-permit":
        return reverse("work:ask-for-permit", args=[machine]) if machine else reverse("work:choose-machine")
    try:
        if action in ELSEWHERE:
            return reverse(ELSEWHERE[action], args=[reference])
        if action in OF_THE_SITE:
            return reverse(f"work:{action}")
        if action in BY_MACHINE:
            if machine is None:
                return reverse(f"work:choose-{action}", args=[reference])
            return reverse(f"work:{action}", args=[reference, machine or NO_MACHINE])
        return reverse(f"work:{action}", args=[reference])
    except NoReverseMatch:
        return ""

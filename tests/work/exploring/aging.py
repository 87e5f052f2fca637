"""Time goes on by a second: everything that is past moves that much further into the past."""

from __future__ import annotations

import dataclasses
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from .moving import Stand
from .places import NOW

SECOND = timedelta(seconds=1)


def aged(stand: Stand) -> Stand:
    """The stand a second later, with its whole history. What is still to come keeps its distance from NOW, as
    if it had been set a second later: the plans let each deadline pass by a move of its own."""
    site = stand.site
    permits = {p.id: older(p) for p in site.permits.values()}
    site = replace(site, permits=permits, emergency=older(site.emergency), paper=older(site.paper))
    return Stand(site, stand.charge)


def older(value: Any) -> Any:
    """The value with each moment in it, up to NOW, a second earlier."""
    if isinstance(value, datetime):
        return value - SECOND if value <= NOW else value
    if isinstance(value, tuple):
        return tuple(older(one) for one in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {f.name: older(getattr(value, f.name)) for f in dataclasses.fields(value)}
        return replace(value, **fields)
    return value

"""The axes that a permit's jobs worked on, each with all its visits, for the charts on paper."""

from __future__ import annotations

from permits.calibration.models import Axis
from permits.calibration.queries import AxisHistory, history
from permits.people.models import Site


def histories_of(site: Site, reference: str) -> list[AxisHistory]:
    """In the officer's order; empty where no axis was opened under the permit."""
    worked = Axis.objects.filter(works__job__permit__site=site, works__job__permit__reference=reference)
    return [
        history(axis) for axis in worked.select_related("machine__site").distinct().order_by("order", "code")
    ]

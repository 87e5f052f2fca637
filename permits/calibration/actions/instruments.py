"""What pieces are measured with: an instrument and its certificate, in use or taken out of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from decimal import Decimal

from permits.calibration import models as rows
from permits.calibration.actions.who import Who, writing_for
from permits.calibration.rules.facts import Fact
from permits.calibration.rules.lengths import Measure, recorded
from permits.ledger.pen import AlreadyDone
from permits.people.models import Site
from permits.work.rules.refusal import Unmet, refuse_if
from permits.work.rules.whom import job_of


def save_instrument(
    *,
    site: Site,
    number: str,
    name: str,
    expanded_uncertainty: Measure,
    coverage_factor: Decimal,
    resolution: Measure,
    due_on: date,
    who: Who,
) -> None:
    """Add an instrument, or enter its new certificate: what was decided with the old one stays as it was."""
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        rows.Instrument.objects.update_or_create(
            site=site,
            number=number,
            removed_at=None,
            defaults={
                "name": name,
                "unit": expanded_uncertainty.unit.value,
                "expanded_uncertainty": recorded(expanded_uncertainty),
                "coverage_factor": coverage_factor,
                "resolution": recorded(resolution),
                "due_on": due_on,
            },
        )
        data = {
            "name": name,
            "expanded_uncertainty": recorded(expanded_uncertainty),
            "coverage_factor": format(coverage_factor, "f"),
            "resolution": recorded(resolution),
            "due_on": due_on.isoformat(),
        }
        pen.write(Fact.INSTRUMENT_SAVED, f"instrument:{number}", data)


def remove_instrument(*, instrument: rows.Instrument, who: Who) -> None:
    """Take an instrument out of use; what was read with it stays. Refused while an axis is read with it."""
    with suppress(AlreadyDone), writing_for(instrument.site, who) as pen:
        instrument.refresh_from_db()
        if instrument.removed_at is not None:
            raise AlreadyDone(0, 0)
        refuse_if(against_removing(instrument))
        instrument.removed_at = pen.at
        instrument.save(update_fields=["removed_at"])
        about = f"instrument:{instrument.number}"
        pen.write(Fact.INSTRUMENT_REMOVED, about, {"name": instrument.name})


def against_removing(instrument: rows.Instrument) -> Iterator[Unmet]:
    at_work = instrument.works.at_work().select_related("axis", "job__permit")
    for work in at_work:
        permit = work.job.permit.reference
        yield Unmet(
            "instrument-at-work",
            f"{work.axis.name} is being read with it under {permit}.",
            f"Whoever works under {permit} closes or abandons that axis first, {job_of(permit)}.",
        )

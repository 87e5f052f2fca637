"""What the features of a machine's test pieces depend on: the table that a pre-check asks."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect

from permits.calibration import actions, forms, queries
from permits.calibration import models as rows
from permits.calibration.rules.lengths import Unit
from permits.calibration.views.answering import answer, machine_or_404, posted, take_out, who
from permits.people.access import Role, SiteRequest, allow
from permits.work.views.answering import get_or_post


@allow(Role.OFFICER)
@get_or_post
def features(request: SiteRequest, machine: str) -> HttpResponse:
    """What the test pieces' features depend on; a form adds one, or changes the one with the same name."""
    found = machine_or_404(request, machine)
    listed = queries.axes_of(found)
    form = forms.FeatureForm(
        posted(request), axes=listed, initial=chosen(found, listed, request.GET.get("feature", ""))
    )

    def act() -> None:
        read = form.cleaned_data
        actions.save_feature(
            machine=found,
            name=read["name"],
            unit=Unit(read["unit"]),
            depends=read["depends"],
            digits=read["digits"],
            who=who(request, form),
        )

    return answer(
        request,
        form,
        act,
        template="calibration/features.html",
        context={"machine": found, "axes": listed, "features": queries.feature_lines(found)},
        to=lambda: redirect("calibration:features", found.code),
        done="The feature is saved.",
        asked="save the feature",
    )


def chosen(machine: Any, axes: list[rows.Axis], name: str) -> dict[str, Any]:
    """A feature that is there, for its form; nothing where none was chosen."""
    row = next((one for one in queries.features_of(machine) if one.name == name), None)
    if row is None:
        return {}
    typed = {f"axis-{axis.pk}": row.depends.get(axis.code, "") for axis in axes}
    return {"name": row.name, "unit": row.unit, **typed}


@allow(Role.OFFICER)
@get_or_post
def remove_feature(request: SiteRequest, machine: str, feature: int) -> HttpResponse:
    found = machine_or_404(request, machine)
    row = rows.Feature.objects.filter(machine=found, pk=feature).select_related("machine__site").first()
    if row is None:
        raise Http404(f"{found.name} has no such feature.")
    return take_out(
        request,
        lambda by: actions.remove_feature(feature=row, who=by),
        title=f"Take out {row.name}",
        say="It is asked for in no pre-check any more. Pre-checks that used it stay as they were.",
        to="calibration:features",
        args=[found.code],
        done=f"{row.name} is taken out.",
    )

"""A site's own hazard lines: kept, in the ledger, asked for by form, file and spreadsheet, and shown."""

from __future__ import annotations

import json
from decimal import Decimal
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils.timezone import now
from openpyxl import load_workbook

from permits.ledger.models import Entry
from permits.plant import queries
from permits.plant.actions import import_plant, save_hazard_lines, save_node
from permits.plant.models import PlantState
from permits.plant.pages.placard import placard_of
from permits.plant.rules.noderows import write_node
from permits.plant.rules.plantfile import check
from permits.plant.sheets import as_csv_files, as_workbook, plant_file_of, read
from permits.plant.store import graph_of, hazard_lines_of, to_plant_file
from permits.plant.store import plant_file_of as plant_of_site
from tests.factories_plant import CLERK, approved_procedure

LINES = reverse("plant:hazard-lines")
# 80 V at most, with no tolerances; 1/2 C V^2 is 10.56 J. Below 100 V, so below the published lines.
SMALL_BUS = {
    "kind": "capacitor", "capacitance_f": "0.0033", "voltage_v": "80", "voltage_over_percent": "0",
    "capacitance_over_percent": "0",
}  # fmt: skip


def page_of(answer) -> str:
    return answer.content.decode()


def draw(site, **lines: str) -> None:
    save_hazard_lines(site=site, lines=lines, by=CLERK, at=now())


def describe(site, code: str, physics: dict) -> None:
    node = write_node(plant_of_site(site).graph[code]) | {"physics": physics}
    save_node(site=site, node=node, by=CLERK, at=now())


# ---- kept


def test_lines_are_kept_exactly_and_the_entry_has_them_as_texts(works, entries):
    draw(works, shock_v="60.50", reflex_j="0.1")
    assert hazard_lines_of(works) == {"shock_v": Decimal("60.5"), "reflex_j": Decimal("0.1")}
    assert to_plant_file(works)["hazard_lines"] == {"shock_v": "60.5", "reflex_j": "0.1"}
    entry = entries("PLANT_CHANGED")[-1]
    assert entry["hazard_lines"] == {"shock_v": "60.5", "reflex_j": "0.1"}
    assert entry["sha256"] == PlantState.objects.get().digest
    assert graph_of(works).lines.shock_v == 60.5


def test_taken_back_they_are_the_published_ones_again(works):
    draw(works, shock_v="60")
    draw(works)
    assert hazard_lines_of(works) == {}
    assert "hazard_lines" not in to_plant_file(works)
    assert graph_of(works).lines.shock_v == 100


def test_importing_the_sites_own_file_changes_nothing(works):
    draw(works, heat_j="50")
    version = PlantState.objects.get().version
    import_plant(site=works, plant_file=check(to_plant_file(works)), by=CLERK, at=now())
    assert PlantState.objects.get().version == version


# ---- shown


def test_a_stores_page_goes_by_the_sites_line_and_names_the_published_one(as_odo, works):
    describe(works, "C1-CDC", SMALL_BUS)
    page = page_of(as_odo.get(reverse("plant:node", args=["C1-CDC"])))
    assert "Below the line: 80 V and 10.56 J is below every published line." in page
    assert "site line" not in page
    draw(works, shock_v="60")
    page = page_of(as_odo.get(reverse("plant:node", args=["C1-CDC"])))
    assert "Yes: 80 V and 10.56 J can give a dangerous shock." in page
    assert (
        "60 V or more and 10 J or more: site line, tighter than the published 100 V or more and 10 J or more."
        in page
    )


def test_the_placard_asks_for_the_longer_wait_of_a_cooler_burn_line(works, maud, torvald):
    press = queries.machine_of(works, "P1")
    zones = [zone.id for zone in graph_of(works).zones_of("P1")]
    approved_procedure(press, zones, author=maud, approver=torvald)

    def wait_on_it() -> str:
        placard = placard_of(works, press, public_url="https://p.example", address_of=str)
        return next(step.how for step in placard.steps if step.name == "Heated lower platen")

    assert "Wait 90 min before the test." in wait_on_it()  # the officer's 5400 s
    draw(works, burn_cooler_by_k="3")
    # Newton's law of cooling: 3200 s x ln((140 - 20) / (40 - 20)) = 5734 s, in whole minutes 96
    assert "Wait 96 min before the test." in wait_on_it()


def test_a_line_that_makes_a_wait_too_long_is_refused_with_the_stores_name(as_maud, works, keyed):
    # tau ln(120 / 23) is 6.9 days for this time constant, and tau ln(120 / 20) is 7.5: the longest is 7 days
    slow = {"kind": "hot", "temperature_c": "140", "ambient_c": "20", "time_constant_s": "361000"}
    describe(works, "P1-HOT", slow)
    answer = as_maud.post(LINES, keyed(burn_cooler_by_k="3"))
    assert answer.status_code == 422
    assert "P1-HOT" in page_of(answer)
    assert "gives a wait of 7.49 days" in page_of(answer)
    assert hazard_lines_of(works) == {}


# ---- the form


def test_the_form_shows_each_line_with_its_published_value_and_source(as_maud, as_odo):
    page = page_of(as_maud.get(LINES))
    assert "Published: 100 V." in page
    assert "Published: 50000 Pa." in page
    assert "DOE electrical hazard classification as used by LBNL, ESM table 2.2.13" in page
    assert "ISO 13732-1, bare smooth metal, lower edge of its bands (from memory" in page
    assert LINES in page_of(as_maud.get(reverse("plant:check")))
    assert LINES not in page_of(as_odo.get(reverse("plant:check")))


def test_the_officer_draws_a_line_tighter_and_takes_it_back(as_maud, works, keyed, entries):
    answer = as_maud.post(LINES, data := keyed(shock_v=" 60 ", heat_j=""))
    assert answer.url == LINES
    assert hazard_lines_of(works) == {"shock_v": Decimal(60)}
    assert entries("PLANT_CHANGED")[-1]["hazard_lines"] == {"shock_v": "60"}
    assert 'value="60"' in page_of(as_maud.get(LINES))
    count = Entry.objects.count()
    assert as_maud.post(LINES, data).url == LINES  # sent twice, done once
    assert Entry.objects.count() == count
    as_maud.post(LINES, keyed())
    assert hazard_lines_of(works) == {}


@pytest.mark.parametrize(
    ("name", "typed", "says"),
    [
        ("shock_v", "120", "looser than the published line of 100 V"),
        ("gas_gauge_pa", "60000", "looser than the published line of 50000 Pa"),
        ("burn_cooler_by_k", "-2", "looser than the published line of 0 K"),
        ("heat_j", "fifty", "Right would be a number from 0 to 100 J."),
        ("heat_j", "12,5", "Right would be a number from 0 to 100 J."),
    ],
)
def test_a_looser_line_is_refused_at_its_field_and_stays_as_typed(as_maud, works, keyed, name, typed, says):
    answer = as_maud.post(LINES, keyed(reflex_j="0.1", **{name: typed}))
    assert answer.status_code == 422
    (error,) = answer.context["form"].errors[name]
    assert says in error
    assert f'value="{typed}"' in page_of(answer)
    assert 'value="0.1"' in page_of(answer)
    assert hazard_lines_of(works) == {}


def test_lines_that_someone_changed_meanwhile_are_not_overwritten(as_maud, works, keyed):
    seen = as_maud.get(LINES).context["form"]["seen"].value()
    draw(works, heat_j="50")
    assert as_maud.post(LINES, keyed(shock_v="60", seen=seen)).status_code == 422
    assert hazard_lines_of(works) == {"heat_j": Decimal(50)}


# ---- files


def test_a_dry_run_of_a_plant_file_shows_the_lines(as_maud, works, keyed):
    draw(works, heat_j="50")
    plant = to_plant_file(works) | {"hazard_lines": {"shock_v": "60"}}
    file = SimpleUploadedFile("plant.json", json.dumps(plant).encode())
    page = page_of(as_maud.post(reverse("plant:upload"), keyed(file=file)))
    assert "Burn through a tool: energy 50 J → Shock: voltage 60 V." in page
    assert hazard_lines_of(works) == {"heat_j": Decimal(50)}


@pytest.mark.parametrize("written", [as_workbook, as_csv_files])
def test_spreadsheets_carry_the_lines_both_ways(works, written):
    draw(works, shock_v="60.125", gas_gauge_pa="30000", burn_cooler_by_k="3")
    content = written(to_plant_file(works))
    assert plant_file_of(read(content)) == plant_of_site(works)


def test_a_spreadsheets_dry_run_shows_a_line_that_changes_and_refuses_a_looser_one(as_maud, works, keyed):
    draw(works, shock_v="60")

    def upload(value: str):
        book = load_workbook(BytesIO(as_workbook(to_plant_file(works))))
        headings = {cell.value: cell.column for cell in book["plant"][1]}
        book["plant"].cell(2, headings["hazard_lines shock_v"]).value = value
        file = BytesIO()
        book.save(file)
        data = keyed(file=SimpleUploadedFile("plant.xlsx", file.getvalue()))
        return as_maud.post(reverse("plant:spreadsheet"), data)

    answer = upload("55")
    assert "Hazard_lines shock_v" in page_of(answer)
    assert "60 → 55" in page_of(answer)
    form = answer.context["form"]
    as_maud.post(
        reverse("plant:import-plant"),
        {name: form[name].value() for name in form.fields} | {"key": str(form["key"].value())},
    )
    assert hazard_lines_of(works) == {"shock_v": Decimal(55)}
    answer = upload("150")
    assert answer.status_code == 422
    assert "looser than the published line of 100 V" in page_of(answer)

"""The shift's people at their devices, over HTTP alone: every form sent and every plate scanned is counted.

Odo holds the permit and has the phone; Hal helps and has none; Ola runs the line and keeps watch at the
outfeed; Maud issues from her desk, 400 m away; Sig is the officer. Eight points, two of them stores, three
freed in each cycle. An interaction is a submitted form or a scanned plate, of anyone. The clock of the server
is moved by hand.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from uuid import uuid4

from django.contrib.auth.hashers import make_password
from django.test import Client

from permits.calibration import actions as calibration
from permits.calibration import models as rows
from permits.calibration.actions import Who
from permits.calibration.rules.lengths import Unit, from_record
from permits.calibration.rules.parameters import Parameter, range_from_record
from permits.people.models import Site
from permits.plant.actions import approve_procedure, draft_procedure, import_plant, issue_tags
from permits.plant.models import Node, Tag
from permits.plant.queries import machine_of
from permits.plant.rules.plantfile import Machine, PlantFile
from permits.work import queries
from permits.work.rules.reisolating import freed
from permits.work.rules.state import Permit
from permits.work.rules.step import Step
from permits.work.rules.words import CHECK_ITEMS, Phase
from tests.factories_people import PIN, PersonFactory, Role, SiteFactory
from tests.factories_plant import CLERK, WRITTEN
from tests.work.reading_pages import Page, page_of, send, text_of
from tests.work.small_plant import SIX
from tests.work.small_site import BEFORE, someone
from tests.work.test_rules_story import cell_of_eight_points
from tests.work.web.clock import Clock

CELL = cell_of_eight_points()
FREED = ("Q1", "Q2", "Q3")
PEOPLE = ("maud", "odo", "pia", "hal", "ola", "sig")
AXES = (("stop", "Length stop"), ("fence", "Fence"))
READY_TO_GO = ("machine_whole", "guards_on", "tools_out", "people_out", "standstill", "neutral")
KNOWS = dict.fromkeys(("knows_energies", "knows_hazards", "knows_control"), "on")


class FormOf(Page):
    """The form of a page that is sent to this address; a page of calibration has several."""

    def __init__(self, html: str, action: str) -> None:
        self.action, self.found = action, False
        super().__init__(html)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        super().handle_starttag(tag, attributes)
        if tag == "form":
            self._inside = dict(attributes).get("action") == self.action
            self.found = self.found or self._inside


@dataclass
class Shift:
    """`interactions` counts what people send and scan, `scanned` the scans among them.

    `pins`: whose PIN was typed how often.
    """

    clock: Clock
    site: Site
    people: dict
    phones: dict[str, Client] = field(default_factory=dict)
    permit: str = ""
    interactions: int = 0
    scanned: int = 0
    pins: Counter[str] = field(default_factory=Counter)

    # ── a page on somebody's device ─────────────────────────────────────────────────────────────────────

    def phone(self, who: str) -> Client:
        if who not in self.phones:
            self.phones[who] = Client()
            self.phones[who].force_login(self.people[who])
        return self.phones[who]

    def url(self, page: str) -> str:
        return f"/permits/{self.permit}/{page}/"

    def shown(self, who: str, page: str) -> Page:
        return page_of(self.phone(who).get(self.url(page)))

    def sent(self, answer, of: str):
        """A form was sent, and was not refused."""
        assert answer.status_code == 302, (of, text_of(answer))
        self.interactions += 1
        return answer

    def sends(self, who: str, page: str, *, after: float = 1, helper: str = "", **fields) -> None:
        """One form sent on this person's phone, `after` so many minutes.

        `helper` acts on it with their own name and PIN.
        """
        self.clock.pass_by(minutes=after)
        if helper:
            fields |= {"sign_in": helper, "pin": PIN}
        if "pin" in fields:
            self.pins[helper or who] += 1
        self.sent(send(self.phone(who), self.url(page), **fields), page)

    def asks_for_the_permit(self, who: str) -> None:
        """Zones first, then the plan with the rest of the request: two forms."""
        new = "/permits/new/CUT/"
        chosen = page_of(self.phone(who).get(new))
        answer = self.phone(who).get(new, chosen.posts | {"zones": ["IN"]})
        assert answer.status_code == 200, text_of(answer)
        self.interactions += 1
        self.clock.pass_by(minutes=1)
        rest = page_of(answer).posts | {"kind_of_work": "Calibration", "reason": "Boards run 2 mm long"}
        self.permit = self.sent(self.phone(who).post(new, rest), "request").url.strip("/").split("/")[1]

    def scans(self, who: str, point: str, *, minutes: float = 1) -> str:
        """One scanned plate and the way on that the phone then shows; the plate's code."""
        self.clock.pass_by(minutes=minutes)
        plate = Tag.objects.get(site=self.site, node__code=point, withdrawn_at=None).token
        shown = self.phone(who).get(f"/T/{plate}")
        ways = [shown.context["step"], *shown.context["more"]]
        leads_on = [way.url for way in ways if "code=" in way.url]
        assert leads_on, (point, text_of(shown))
        self.phone(who).get(leads_on[0])
        self.interactions += 1
        self.scanned += 1
        return plate

    # ── at the points ───────────────────────────────────────────────────────────────────────────────────

    def locks(self, who: str, point: str, padlock: str) -> None:
        """At the point: its plate is scanned, and the form that opens is sent."""
        lock = self.url("lock") + f"?code={self.scans(who, point)}"
        put_on = {"padlock": padlock, "tag": f"T{padlock}", "position": "off"}
        self.sent(send(self.phone(who), lock, **put_on), lock)

    def releases(self, who: str, point: str) -> None:
        release = self.url("release") + f"?code={self.scans(who, point)}"
        self.sent(send(self.phone(who), release, method="as written"), release)

    def reads_everything(self, who: str, *, minutes: float) -> None:
        """All readings of the machine, zero, on one page; the tester is carried over."""
        self.clock.pass_by(minutes=minutes)
        page = self.shown(who, "verify/CUT")
        read = {name: "0" for name in page.posts if name.startswith("r") and "_" in name}
        tester = page.posts["instrument"][0] or "VT-07"
        proven = {"instrument": tester, "proven_before": "on", "proven_after": "on"}
        self.sends(who, "verify/CUT", after=0, **read, **proven)

    def isolates(self, who: str, *, first: int) -> None:
        """Every lock, every store and every reading; `first` is the number of the first padlock."""
        for n in range(1, 7):
            self.locks(who, f"Q{n}", str(first + n))
        for store in ("C1", "C2"):
            self.releases(who, store)
        self.reads_everything(who, minutes=10)
        assert self.phase is Phase.ISOLATED

    # ── what several people do in one way ───────────────────────────────────────────────────────────────

    def confirms_clear(self, who: str, **fields) -> None:
        areas = self.shown(who, "confirm-clear").offers["areas"]
        self.sends(who, "confirm-clear", areas=areas, how="seen", one_place="on", **fields)

    def checks_the_machine(self, who: str, **by) -> None:
        found = self.shown(who, "check").offers
        self.sends(who, "check", after=20, **{item: found[item][0] for item, _ in CHECK_ITEMS}, **by)

    def sanctions(self, who: str, *, cycles: int, minutes: int) -> None:
        terms = {"points": list(FREED), "limits": "manual, one board at a time", "cycles": str(cycles)}
        self.sends(who, "sanction", **terms, minutes=str(minutes), pin=PIN)

    def hands_back(self, who: str) -> None:
        asked = self.shown(who, "hand-back").offers
        self.sends(who, "hand-back", **{name: "on" for name in READY_TO_GO if name in asked}, pin=PIN)

    def re_isolates(self, who: str) -> None:
        """Each freed point is scanned where it is locked again; then one form for all of them."""
        for point in self.freed:
            self.scans(who, point)
        page = self.shown(who, "re-isolate")
        again = {name: "on" for name in page.offers if name.startswith("released")}
        again |= {name: "off" for name in page.offers if name.startswith("position")}
        empty = [name for name, value in page.posts.items() if value == [""]]
        again |= {name: f"N-{name}" for name in empty if name.startswith(("padlock", "tag"))}
        self.sends(who, "re-isolate", **again)

    def names_a_new_holder(self, who: str, to: str) -> None:
        named = {"to": self.people[to].ref, "why": "went home ill"}
        self.sends(who, "new-holder", **named, pin=PIN)

    def takes_off_for(self, absent: str, who: str, second: str) -> None:
        """The locks of someone who is not on site: each with its own form and two signatures.

        In a test only those on the sanctioned points come off; the others stay on.
        """
        p = self.state
        in_test = p.phase is Phase.TESTING and p.sanction is not None
        stay = set(p.points) - set(p.sanction.points) if in_test else set()
        for which in self.shown(who, "absent").offers.get("which", []):
            owner, where = which.split(maxsplit=1)
            if owner == self.people[absent].ref and where not in stay:
                checked = {"not_on_site": "gate list", "tried": "telephone, home", "searched": "both of us"}
                signed = {"pin": PIN, "second_sign_in": second, "second_pin": PIN}
                self.sends(who, "absent", which=which, **checked, **signed)

    def takes_locks_off(self, who: str) -> None:
        """One's own, and what was released without a lock."""
        owners = {lock.where: lock.owner for lock in self.state.hanging}
        me = self.people[who].ref
        points = [
            point for point in self.shown(who, "remove-locks").offers["points"] if owners.get(point, me) == me
        ]
        self.sends(who, "remove-locks", points=points, after=8)

    # ── calibration ─────────────────────────────────────────────────────────────────────────────────────

    def on_the_job(self, who: str, page: str, *, after: float = 1, **fields) -> None:
        """One of the forms of the job's page, as that page shows it."""
        self.clock.pass_by(minutes=after)
        where = self.url(f"job/{page}")
        form = FormOf(self.phone(who).get(self.url("job")).content.decode(), where)
        assert form.found, f"the job's page does not offer {page}"
        self.sent(self.phone(who).post(where, form.posts | fields), page)

    def opens_the_job(self, who: str, axis: str = "", copy: str = "CUT-1.bak") -> None:
        with_it = {"axis": axis_row(axis).pk, "instrument": tape().pk} if axis else {}
        self.sends(
            who, "job/open", settings_before=copy, reference_board="RB-02", test_piece="1200 mm", **with_it
        )

    def pre_checks(self, who: str, **off: str) -> None:
        """How far a first piece is off at each axis; the one that this names opens with it."""
        typed = {"instrument": tape().pk}
        for feature in rows.Feature.objects.filter(removed_at=None):
            deviation = next(off[code] for code in off if code in feature.depends)
            typed |= {f"deviation-{feature.pk}": deviation, f"uncertainty-{feature.pk}": "0.1"}
        self.sends(who, "job/pre-check", after=5, **typed)

    def opens_the_axis(self, who: str, axis: str) -> None:
        self.on_the_job(who, "axis/open", axis=axis_row(axis).pk, instrument=tape().pk)

    def reads_pieces(self, who: str, *sizes: str, judging: bool = False) -> None:
        """Test pieces are run, collected and read: one form for all of them."""
        lines = {"measured" if n == 1 else f"measured-{n}": size for n, size in enumerate(sizes, 1)}
        judge = {"judging": "on"} if judging else {}
        self.on_the_job(who, "piece", after=5, nominal="1200", **lines, **judge)

    def corrects(self, who: str, old: str, new: str) -> None:
        self.on_the_job(who, "correction", after=2, parameter="offset", old=old, new=new)

    def judges(self, who: str) -> None:
        self.on_the_job(who, "judge")

    def closes_the_axis(self, who: str) -> None:
        self.on_the_job(who, "axis/end", how="close")

    def closes_the_job(self, who: str, copy: str = "CUT-2.bak") -> None:
        self.on_the_job(who, "close", after=2, settings_after=copy)

    # ── what has come of it ─────────────────────────────────────────────────────────────────────────────

    @property
    def state(self) -> Permit:
        found = queries.look(self.site, self.permit, self.clock.at)
        assert found is not None
        return found.permit

    @property
    def freed(self) -> list[str]:
        return sorted(freed(self.state))

    def next_step(self, who: str) -> Step:
        """What this person's page of the permit calls their next step."""
        step: Step = self.phone(who).get(f"/permits/{self.permit}/").context["page"].next
        return step

    @property
    def phase(self) -> Phase:
        return self.state.phase


def axis_row(code: str) -> rows.Axis:
    return rows.Axis.objects.get(code=code, removed_at=None)


def tape() -> rows.Instrument:
    return rows.Instrument.objects.get(number="ST-03")


def works(clock: Clock) -> Shift:
    """The cell with its procedure, its plates, its people and what is measured on it; nothing is open."""
    site = SiteFactory(code="SHIFT", name="Shift works", timezone="UTC")
    described = PlantFile(
        plant="Shift works", code="SHIFT", machines=(Machine("CUT", "Cutting cell"),), graph=CELL.graph
    )
    import_plant(site=site, plant_file=described, by=CLERK, at=BEFORE)
    people = {name: someone(site, name) for name in PEOPLE}
    for person in people.values():
        person.pin = make_password(PIN)
        person.save(update_fields=["pin"])
    author, approver = (PersonFactory(site=site, site__role=Role.OFFICER) for _ in range(2))
    drafted = draft_procedure(
        machine=machine_of(site, "CUT"), zones=CELL.procedures["CUT"].zones, texts=WRITTEN, by=author,
        at=BEFORE,
    )  # fmt: skip
    approve_procedure(procedure=drafted, by=approver, at=BEFORE)
    points = [node for node in Node.objects.filter(site=site) if node.is_point]
    issue_tags(site=site, nodes=points, by=CLERK, at=BEFORE)
    describe_what_is_measured(site)
    return Shift(clock, site, people)


def describe_what_is_measured(site: Site) -> None:
    def who() -> Who:
        return Who(by=CLERK, at=BEFORE, key=uuid4())

    machine, offset = machine_of(site, "CUT"), range_from_record("-25 mm", "25 mm")
    assert offset is not None
    calibration.save_instrument(
        site=site, number="ST-03", name="Steel tape", expanded_uncertainty=from_record("0.1 mm"),
        coverage_factor=Decimal(2), resolution=from_record("0.05 mm"), who=who(),
        due_on=(SIX + timedelta(days=180)).date(),
    )  # fmt: skip
    for code, name in AXES:
        calibration.save_axis(
            machine=machine, code=code, name=name, tolerance=from_record("0.5 mm"), nominal=None,
            ranges={Parameter.OFFSET: offset}, instruments=rows.Instrument.objects.none(), who=who(),
        )  # fmt: skip
        calibration.save_feature(
            machine=machine, name=f"Piece at the {name.lower()}", unit=Unit.MM, digits={code: "1"}, who=who(),
            depends={code: Fraction(1)},
        )  # fmt: skip

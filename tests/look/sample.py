"""One page with every component on it, for the eye and for the tests; invented plant, people and numbers."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import include, path

from tests.look.sample_forms import PinForm, PointForm, ReadingsForm

HERE = Path(__file__).resolve().parent
NOW = datetime(2026, 11, 25, 9, 31, 20, tzinfo=UTC)

STATES = (
    ("live", "Live"),
    ("locked", "Locked"),
    ("unproven", "Locked, not proven"),
    ("dead", "Proven dead"),
    ("stale", "Confirmation going stale"),
    ("unsafe", "Unsafe now"),
    ("over", "Closed"),
    ("info", "Requested"),
)


def nothing(request: HttpRequest) -> HttpResponse:
    """Stands for a page of the product, so that links have an address."""
    return HttpResponse()


def room(name: str, *pages: str) -> Any:
    """A room's routes by name, each answered by nothing."""
    return path(f"{name}/", include(([path(page, nothing, name=page) for page in pages], name)))


class Routes:
    """Stands for the product's URLconf."""

    urlpatterns = (
        room("work", "home", "board"),
        room("plant", "machines", "tags"),
        room("people", "people", "me", "sign-out", "site"),
        room("records", "search"),
    )


class NoRoutes:
    """A product in which no page exists yet."""

    urlpatterns = ()


@dataclass(frozen=True)
class Message:
    """A message of Django's framework, as templates see it."""

    level_tag: str
    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Lock:
    number: str
    person: str
    permit: str = ""


@dataclass(frozen=True)
class Point:
    """A point as the card and the plan show it."""

    designation: str
    name: str
    place: str
    energy: str
    state: str
    word: str
    does: str = ""
    lock: str = ""
    url: str = ""
    locks: list[Lock] = field(default_factory=list)


@dataclass(frozen=True)
class Refusal:
    """What a refused act says."""

    asked: str
    unmet: list[tuple[str, str, str]]
    path: list[str] | None


QB1_LOCKS = [Lock("0417", "Odo Marrel", "P-17"), Lock("0552", "Nela Quist", "P-18")]
QB1 = Point(
    "=L3.C1-QB1", "Main disconnector", "Cabinet +H2, left door", "400 V electrical",
    "dead", "Proven dead", "Lock", "0417", "#", QB1_LOCKS,
)  # fmt: skip
POINTS = [
    QB1,
    Point("=L4.T2-QB3", "Outfeed conveyor isolator", "Line 4 board +H5", "400 V electrical",
          "unproven", "Locked, not proven", "Lock", "0418", "#"),
    Point("=L3.C1-QM1", "Air shut-off valve", "Behind the infeed", "7 bar", "live", "Live", "Lock", "", "#"),
    Point("=L3.C1-CM1", "Air receiver", "Behind the infeed", "7 bar, 50 l", "live", "Live", "Release"),
    Point("=L3.C1-CA1", "Drive DC bus", "Cabinet +H2", "680 V DC", "stale", "Re-check by 09:50", "Test"),
]  # fmt: skip

PATH = ["Board L4-2", "Outfeed conveyor isolator", "Conveyor drive", "Outfeed zone"]

REFUSAL = Refusal(
    "sanction for test on 3 points",
    [
        ("Nela Quist is still signed on under P-17.", "Nela Quist signs off.", "At the group box, line 3"),
        ("The outfeed was confirmed clear 16 minutes ago; 10 is the limit.", "Odo Marrel looks again.", ""),
        ("Sava Orme, under P-21, would be reached by energy.", "Wait for the hand-back of P-21.", ""),
    ],
    PATH,
)

STORY = [
    {
        "at": NOW - timedelta(minutes=50),
        "what": "Permit issued",
        "who": "Maud Tessel",
        "number": 1204,
        "detail": "Zones: saw chamber, outfeed. Plan of 5 points.",
    },
    {
        "at": NOW - timedelta(minutes=41),
        "what": "Lock 0417 on Main disconnector",
        "who": "Odo Marrel",
        "number": 1207,
    },
    {
        "at": NOW - timedelta(minutes=12),
        "what": "Reading 48 V on L1–L2",
        "who": "Odo Marrel",
        "number": 1219,
        "exception": "reading over its limit of 10 V",
        "detail": "Meter M-12, proven on a known source before and after.",
    },
]

PHASES = [
    ("Requested", "done"),
    ("Issued", "done"),
    ("Isolating", "now"),
    ("Isolated", "to_come"),
    ("Testing", "to_come"),
    ("Restoring", "to_come"),
    ("Closed", "to_come"),
]


def context(**extra: Any) -> dict[str, Any]:
    """Everything the sample page shows."""
    return {
        "site": {"name": "Quillfen Panel Works"},
        "person": {"name": "Odo Marrel"},
        "roles": frozenset({"officer", "technician", "issuer", "auditor"}),
        "sites": (1, 2),
        "request": {"path": "/work/board"},
        "states": STATES,
        "points": POINTS,
        "point": QB1,
        "path": PATH,
        "refusal": REFUSAL,
        "step": {
            "title": "Lock the outfeed conveyor isolator",
            "text": "Line 4 board +H5. Take padlock 0418 and scan the tag beside the handle.",
            "url": "#",
            "button": "Go to the point",
        },
        "waiting": {"title": "Maud Tessel issues the permit", "text": "Asked 20 minutes ago."},
        "phases": PHASES,
        "facts": [
            ("Machine", "Crosscut cell"),
            ("Permit", "P-17"),
            ("Holder", "Odo Marrel"),
            ("Window", "09:00–15:00"),
            ("Zones", "Saw chamber, outfeed"),
            ("Coordinator", None),
        ],
        "names": ["Sava Orme", "Nela Quist"],
        "until": NOW + timedelta(minutes=4, seconds=12),
        "now": NOW,
        "story": STORY,
        "form": PointForm(initial={"position": "off"}),
        "bound": PointForm(
            data={"name": "", "told": ["a"], "cycles": "0", "pressure": "0.2.1"}, auto_id="again_%s"
        ),
        "readings": ReadingsForm(),
        "pin": PinForm(),
        "csrf_token": "token",
        "messages": [Message("success", "Lock 0417 is recorded on Main disconnector.")],
    } | extra


def render(shell: str, **extra: Any) -> str:
    """The sample page in `base.html` or `base_phone.html`."""
    text = (HERE / "sample.html").read_text()
    return engines["django"].from_string(text).render(context(shell=shell, **extra))

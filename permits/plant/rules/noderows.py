"""One node of a plant file: read from its row with every check, and written back with defaults left out."""

from __future__ import annotations

from typing import Any

from permits.plant.rules.conductors import CONDUCTORS, PAIRS, pairs
from permits.plant.rules.controldevices import control_device, opens_with_control_device
from permits.plant.rules.energy import Kind, Medium, Node, Release, Test
from permits.plant.rules.gradedrows import grade_of, read_tag_only, write_tag_only
from permits.plant.rules.rows import Nearest, Row, plain, shown
from permits.plant.rules.stores.hazard import PUBLISHED, Lines
from permits.plant.rules.stores.impossible import ImpossibleStore
from permits.plant.rules.stores.kinds import MEDIUM_OF, Physics
from permits.plant.rules.stores.numbers import numbers
from permits.plant.rules.stores.physics import read_physics, write_physics
from permits.plant.rules.testlimits import refuse_loose_limit

KINDS = tuple(kind.value for kind in Kind)
MEDIA = tuple(medium.value for medium in Medium)
LONGEST_ID = 64
MOST_EFFORT = 2**53 - 1  # what canonical JSON carries exactly
MOST_SEQUENCE = 1_000_000
LONGEST_WAIT_S = 7 * 24 * 60 * 60
LONGEST_RECHECK_MIN = 7 * 24 * 60
_TEXTS = {
    "label": 120, "machine": LONGEST_ID, "designation": 120, "place": 200, "magnitude": 120, "device": 120,
}  # fmt: skip
_NODE = (
    "id", "kind", "label", "effort", "lockable", "releasable", "sequence", "machine", "designation", "place",
    "medium", "magnitude", "device", "test", "release", "physics", "danger_area", "outfeed",
    "grade", "out_of_service", "tag_only",
)  # fmt: skip
_OBJECTS = ("test", "release", "physics", "tag_only")
_TEST = ("quantity", "unit", "limit", "conductors", "combinations")
_RELEASE = ("method", "wait_s", "undoable", "recheck_min")


def read_node(row: Row, nearest: Nearest, *, strict: bool, lines: Lines = PUBLISHED) -> Node:
    """The node that a row describes; what is wrong with it is noted in the row's errors.

    `lines`: where stored energy starts to hurt at the site, for what a store's figures come to.
    """
    row.check_names(_NODE, nearest, strict=strict)
    id = row.id("id", LONGEST_ID)
    kind = _kind(row, nearest)
    texts = {field: row.text(field, longest=longest) for field, longest in _TEXTS.items()}
    test = _test(row, kind, nearest, strict=strict)
    node = Node(
        id=id,
        kind=kind or Kind.CARRIER,
        effort=row.whole("effort", 1, 1, MOST_EFFORT, "a positive whole number, such as 1"),
        lockable=row.yes_no("lockable", True),
        releasable=row.yes_no("releasable", True),
        sequence=row.whole("sequence", 0, -MOST_SEQUENCE, MOST_SEQUENCE, "a whole number, such as 0"),
        medium=_medium(row, nearest),
        test=test,
        release=_release(row, kind, nearest, strict=strict),
        physics=_physics(row, kind, test, nearest, lines, strict=strict),
        danger_area=_only(row, "danger_area", kind, Kind.ZONE),
        outfeed=_only(row, "outfeed", kind, Kind.ZONE),
        grade=grade_of(row, kind, nearest),
        out_of_service=_only(row, "out_of_service", kind, Kind.ISOLATOR),
        tag_only=read_tag_only(row, kind, nearest, strict=strict),
        label=texts["label"],
        machine=texts["machine"] or None,
        designation=texts["designation"],
        place=texts["place"],
        magnitude=texts["magnitude"],
        device=texts["device"],
    )
    if kind is Kind.ISOLATOR:
        _refuse_control_device(row, node, strict=strict)
    if strict:
        refuse_loose_limit(row, node)
    return node


def write_node(node: Node) -> dict[str, Any]:
    """The node as its row in a plant file, as JSON values."""
    plain_fields = {
        field: getattr(node, field)
        for field in _NODE
        if field not in ("id", "kind", *_OBJECTS) and getattr(node, field) != _default(field)
    }
    row = {"id": node.id, "kind": node.kind.value} | plain_fields
    if node.medium:
        row["medium"] = node.medium.value
    if node.test:
        row["test"] = write_test(node.test)
    if node.release:
        row["release"] = write_release(node.release)
    if node.physics:
        row["physics"] = write_physics(node.physics)
    if node.grade:
        row["grade"] = node.grade.value
    if node.tag_only:
        row["tag_only"] = write_tag_only(node.tag_only)
    return row


def write_test(test: Test) -> dict[str, Any]:
    """A test as JSON values; the limit as a text of digits."""
    row = {"quantity": test.quantity, "unit": test.unit, "limit": plain(test.limit)}
    return row | ({"combinations": list(test.combinations)} if test.combinations else {})


def write_release(release: Release) -> dict[str, Any]:
    """A release as JSON values."""
    row: dict[str, Any] = {"method": release.method}
    if release.wait_s:
        row["wait_s"] = release.wait_s
    if release.undoable:
        row["undoable"] = True
    if release.recheck_min is not None:
        row["recheck_min"] = release.recheck_min
    return row


def _default(field: str) -> Any:
    return Node.__dataclass_fields__[field].default


def _kind(row: Row, nearest: Nearest) -> Kind | None:
    right = f"one of {', '.join(KINDS)}"
    if row.missing("kind", right):
        return None
    value = row.raw("kind")
    if isinstance(value, str) and value in KINDS:
        return Kind(value)
    near = nearest.to(value, KINDS) if isinstance(value, str) else None
    row.wrong("kind", f"is {shown(value)}", f"'{near}', if that was meant, or {right}" if near else right)
    return None


def _medium(row: Row, nearest: Nearest) -> Medium | None:
    if "medium" not in row:
        return None
    value = row.raw("medium")
    if isinstance(value, str) and value in MEDIA:
        return Medium(value)
    right = f"one of {', '.join(MEDIA)}"
    near = nearest.to(value, MEDIA) if isinstance(value, str) else None
    row.wrong("medium", f"is {shown(value)}", f"'{near}', if that was meant, or {right}" if near else right)
    return None


def _only(row: Row, field: str, kind: Kind | None, right: Kind) -> bool:
    """A yes that only a node of one kind may say."""
    value = row.yes_no(field, False)
    if value and kind not in (right, None):
        whose = "only a zone can be one" if right is Kind.ZONE else f"it is said of {right}s only"
        row.wrong(field, f"is true on a node of kind {kind}", f"to leave it out: {whose}")
    return value


def _refuse_control_device(row: Row, node: Node, *, strict: bool) -> None:
    """An isolator must part the energy itself; what only controls it is a carrier, whatever it is called."""
    right = f"kind 'carrier' for {shown(node.id)}, and the device that parts the energy as the isolator"
    if found := control_device(node.device):
        wrong = f"{shown(node.device)} is {found}: it controls energy, it cannot isolate it"
        row.wrong("device", wrong, right)
    elif strict and not node.device and (found := opens_with_control_device(node.label)):
        row.wrong(
            "label",
            f"{shown(node.label)} reads like {found}: it controls energy, it cannot isolate it",
            f"{right}; if it is another device, its name in 'device'",
        )


def _test(row: Row, kind: Kind | None, nearest: Nearest, *, strict: bool) -> Test | None:
    if "test" not in row:
        return None
    inner = row.inner("test", "an object with quantity, unit and limit")
    if inner is None:
        return None
    if kind not in (Kind.ISOLATOR, Kind.STORE, None):
        row.wrong("test", f"stands on a node of kind {kind}", "a test on an isolator or a store only")
    inner.check_names(_TEST, nearest, strict=strict)
    return Test(
        inner.text("quantity", longest=60, required="what is read, such as 'voltage'"),
        inner.text("unit", longest=16, required="the unit, such as 'V'"),
        inner.decimal("limit", 'the highest reading that passes, such as 50 or "0.05"'),
        _combinations(inner, row),
    )


def _combinations(test: Row, node: Row) -> tuple[str, ...]:
    given = [field for field in ("conductors", "combinations") if field in test]
    if not given:
        return ()
    field = given[0]
    if node.raw("medium") not in (None, "electrical"):
        wrong = f"stands on a node of medium {shown(node.raw('medium'))}"
        test.wrong(field, wrong, "to leave it out: only an electrical point has conductors")
    if len(given) == 2:
        test.wrong("combinations", "stands beside conductors", "one of the two")
    if field == "combinations":
        return test.words(field, PAIRS, 'a list of pairs, such as ["L1-L2", "L1-PE"]')
    conductors = test.words(field, CONDUCTORS, f"a list of at least two of {', '.join(CONDUCTORS)}")
    if len(conductors) == 1:
        test.wrong(field, "names one conductor", f"at least two of {', '.join(CONDUCTORS)}")
    return pairs(conductors)


def _release(row: Row, kind: Kind | None, nearest: Nearest, *, strict: bool) -> Release | None:
    if "release" not in row:
        return None
    inner = row.inner("release", "an object with the method")
    if inner is None:
        return None
    if kind not in (Kind.STORE, None):
        row.wrong("release", f"stands on a node of kind {kind}", "a release on a store only")
    inner.check_names(_RELEASE, nearest, strict=strict)
    minutes = "a whole number of minutes from 1 to 10080, or null where it cannot recharge"
    recheck = None
    if inner.raw("recheck_min") is not None:
        recheck = inner.whole("recheck_min", 1, 1, LONGEST_RECHECK_MIN, minutes)
    return Release(
        inner.text("method", longest=400, lines=True, required="what is done to make it harmless"),
        inner.whole("wait_s", 0, 0, LONGEST_WAIT_S, "a whole number of seconds from 0 to 604800"),
        inner.yes_no("undoable", False),
        recheck,
    )


def _physics(
    row: Row, kind: Kind | None, test: Test | None, nearest: Nearest, lines: Lines, *, strict: bool
) -> Physics | None:
    if "physics" not in row:
        return None
    inner = row.inner("physics", "an object with the kind of store")
    if inner is None:
        return None
    if kind not in (Kind.STORE, None):
        row.wrong("physics", f"stands on a node of kind {kind}", "physics on a store only")
    physics = read_physics(inner, nearest, strict=strict)
    if physics is None:
        return None
    medium = MEDIUM_OF[physics.kind]
    if row.raw("medium") in MEDIA and row.raw("medium") != medium:
        wrong = f"is {shown(physics.kind)} on a store of medium {shown(row.raw('medium'))}"
        inner.wrong("kind", wrong, f"medium '{medium}' for it, or another kind")
    _check_numbers(inner, physics, test, lines)
    return physics


def _check_numbers(inner: Row, physics: Physics, test: Test | None, lines: Lines) -> None:
    """Each member may be right by itself and all together still be no store that anyone has."""
    try:
        wait_s = numbers(physics, test, lines).wait_s
    except ImpossibleStore as error:
        inner.wrong(error.field, error.wrong, error.right)
        return
    if wait_s is not None and wait_s > LONGEST_WAIT_S:
        days = wait_s / 86400
        wrong = f"gives a wait of {days:.3g} days" if days < 100 else f"gives a wait of {days:.0f} days"
        inner.wrong("kind", wrong, "figures that give at most 7 days; see the units in their names")

"""Every refusal says who can meet its condition, and where: read in the source of each room, one by one.

What the rules' tests provoke is held to the same, with real names and places, by `refusal` in small_plant.py.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import permits
from permits.work.rules.proving import not_proven
from permits.work.rules.whom import leads_to, sanctions, spot, take_theirs_off, the_crew, the_holder
from permits.work.rules.words import AT_WORK, Phase

from .otherwise import stop
from .small_plant import (
    HELPS,
    SITE,
    accepted_site,
    at,
    cancel,
    done,
    hand_back,
    handed_back_site,
    issue,
    lock,
    locked_site,
    occupied_site,
    p1,
    ready,
    reenergise,
    refusal,
    reisolate,
    remove,
    request,
    verify,
    with_node,
    with_person,
    zero,
)
from .who_and_where import begins_with_someone, says_where

ROOMS = Path(permits.__file__).parent
PHRASES = ROOMS / "work" / "rules" / "whom.py"

# What a text may begin with where a name is put in: each gives a person's name, or the words for one.
NAMING = re.compile(r"\{(site\.name|the_crew|the_holder|either|who_still_signs)\(")
PUTS_IN_A_PLACE = re.compile(r"\{(page_of\(|job_of\(|spots?\(|OVER_THERE\}|called\.)")


@cache
def tree_of(file: Path) -> ast.Module:
    return ast.parse(file.read_text(encoding="utf-8"))


def refusals() -> list[tuple[str, Path, ast.Call]]:
    """Every Unmet that is made in any room, where, and in which file."""
    return [
        (f"{file.relative_to(ROOMS)}:{node.lineno}", file, node)
        for file in sorted(ROOMS.rglob("*.py"))
        for node in ast.walk(tree_of(file))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Unmet"
    ]


def texts_of(node: ast.expr, file: Path, within: ast.AST) -> Iterator[str]:
    """Every text that an expression can be: what is put in stands in braces, as it is written.

    Followed through constants, variables, choices, and the functions of the file and of whom.py. What can't
    be followed is a text of its own, and names nobody.
    """
    if NAMING.match(f"{{{ast.unparse(node)}"):
        yield f"{{{ast.unparse(node)}}}"
        return
    match node:
        case ast.Constant(value=str(text)):
            yield text
        case ast.JoinedStr(values=parts):
            yield from joined(parts, file, within)
        case ast.IfExp(body=one, orelse=other):
            yield from texts_of(one, file, within)
            yield from texts_of(other, file, within)
        case ast.BoolOp(values=each):
            for value in each:
                yield from texts_of(value, file, within)
        case ast.Name(id=name):
            found = list(values_of(name, file, within))
            for value, there, scope in found:
                yield from texts_of(value, there, scope)
            if not found:
                yield f"{{{name}}}"
        case ast.Call(func=ast.Attribute(value=ast.Constant(), attr="join"), args=[each]):
            said = each.elt if isinstance(each, ast.GeneratorExp) else each
            yield from texts_of(said, file, within)
        case ast.Attribute(attr=name) if fields := list(given_to_field(name, tree_of(file))):
            for value in fields:
                yield from texts_of(value, file, tree_of(file))
        case ast.Call(func=ast.Name(id=name)) if (place := function(name, file)) is not None:
            there, body = place
            for each in ast.walk(body):
                if isinstance(each, ast.Return) and each.value is not None:
                    yield from texts_of(each.value, there, body)
        case _:
            yield f"{{{ast.unparse(node)}}}"


def joined(parts: list[ast.expr], file: Path, within: ast.AST) -> Iterator[str]:
    """An f-string; where it begins with something put in that no NAMING knows, with every text of that."""
    said = [
        part.value if isinstance(part, ast.Constant) else f"{{{ast.unparse(part.value)}}}"  # type: ignore[attr-defined]
        for part in parts
    ]
    first = parts[0]
    if isinstance(first, ast.FormattedValue) and not NAMING.match(said[0]):
        for text in texts_of(first.value, file, within):
            yield text + "".join(map(str, said[1:]))
    else:
        yield "".join(map(str, said))


def values_of(name: str, file: Path, within: ast.AST) -> Iterator[tuple[ast.expr, Path, ast.AST]]:
    """What a name is given, in the function or at the head of the file or of whom.py; of a loop, each."""
    for there, scope in ((file, within), (file, tree_of(file)), (PHRASES, tree_of(PHRASES))):
        found = [(value, there, scope) for value in given(name, scope)]
        yield from found
        if found:
            return


def given(name: str, scope: ast.AST) -> Iterator[ast.expr]:
    body = list(ast.walk(scope)) if not isinstance(scope, ast.Module) else scope.body
    for node in body:
        if isinstance(node, ast.Assign) and any(ast.unparse(target) == name for target in node.targets):
            yield node.value
        elif isinstance(node, ast.Call) and ast.unparse(node.func) == f"{name}.append":
            yield node.args[0]
        elif isinstance(node, ast.For) and isinstance(node.target, ast.Tuple):
            places = [ast.unparse(one) for one in node.target.elts]
            if name in places and isinstance(node.iter, ast.Tuple):
                for row in node.iter.elts:
                    assert isinstance(row, ast.Tuple)
                    yield row.elts[places.index(name)]


def given_to_field(name: str, tree: ast.Module) -> Iterator[ast.expr]:
    """Every value that a field is given by its name in the file, and the one that it has otherwise."""
    for node in ast.walk(tree):
        called = node.arg if isinstance(node, ast.keyword) else None
        if isinstance(node, ast.AnnAssign):
            called = ast.unparse(node.target)
        if called == name and node.value is not None:
            yield node.value


def function(name: str, file: Path) -> tuple[Path, ast.FunctionDef] | None:
    """The function of this name that returns texts: of the file, of whom.py, or imported by its name."""
    imported = (
        ROOMS.parent / Path(*(node.module or "").split(".")).with_suffix(".py")
        if node.level == 0
        else file.parent / f"{node.module}.py"
        for node in tree_of(file).body
        if isinstance(node, ast.ImportFrom) and name in {alias.name for alias in node.names}
    )
    for there in (file, PHRASES, *imported):
        for node in tree_of(there).body if there.exists() else ():
            if isinstance(node, ast.FunctionDef) and node.name == name:
                return there, node
    return None


def function_around(call: ast.Call, file: Path) -> ast.AST:
    """The innermost function that a call stands in."""
    around = [
        node
        for node in ast.walk(tree_of(file))
        if isinstance(node, ast.FunctionDef) and any(each is call for each in ast.walk(node))
    ]
    return max(around, key=lambda node: node.lineno, default=tree_of(file))


def whos() -> Mapping[str, list[str]]:
    """By place in the source, every text that the refusal there can end with."""
    return {
        where: list(texts_of(call.args[2], file, function_around(call, file)))
        for where, file, call in refusals()
    }


WHOS = whos()


def names_someone(text: str) -> bool:
    return bool(NAMING.match(text)) or begins_with_someone(text)


def says_a_place(text: str) -> bool:
    return bool(PUTS_IN_A_PLACE.search(text)) or says_where(text)


@pytest.mark.parametrize("where", WHOS)
def test_a_refusal_names_who_can_meet_it_and_where(where):
    assert WHOS[where]
    assert [text for text in WHOS[where] if not names_someone(text)] == []
    assert [text for text in WHOS[where] if not says_a_place(text)] == []


def test_the_refusals_of_two_rooms_are_found():
    rooms = {where.split("/")[0] for where in WHOS}
    assert rooms == {"work", "calibration"}
    assert len(WHOS) > 200


@pytest.mark.parametrize(
    "text", ["Test X.", "Lock {name_of(site, point)} first.", "Lock the rest first.", "{somebody} does it."]
)
def test_a_text_without_a_person_is_found_out(text):
    assert not names_someone(text)


@pytest.mark.parametrize("text", ["{site.name(x)} tests it.", "An issuer gives one.", "You look again."])
def test_a_text_without_a_place_is_found_out(text):
    assert names_someone(text)
    assert not says_a_place(text)


# ── by name, and where ──────────────────────────────────────────────────────────────────────────────────


def test_who_may_test_is_named_with_the_point_and_its_place():
    site = accepted_site()
    said = {unmet.what: unmet.who for unmet in not_proven(site, p1(site), at(22))}
    gantry, switch = said["Gantry is not proven dead."], said["Main switch is not proven dead."]
    assert gantry == "Odo Holder or Hal Helper tests Gantry (over the saw)."
    assert switch == "Odo Holder tests Main switch (saw cabinet)."  # electrical, and Hal is not qualified


def test_where_nobody_of_the_crew_is_qualified_someone_is_named_who_would_be():
    site = with_person(accepted_site(), "odo", authorisations=HELPS)
    first = next(not_proven(site, p1(site), at(22)))
    assert first.who == "A qualified person, named on P-1 (Pia Holder), tests Main switch (saw cabinet)."


def test_the_first_unlocked_point_is_named_with_whoever_may_lock_it():
    said = [unmet.who for unmet in refusal(accepted_site(), verify("CUT", zero("Q1"))).unmet]
    assert "Odo Holder or Hal Helper locks Main switch (saw cabinet) first." in said
    assert "Odo Holder or Hal Helper releases Gantry (over the saw) first." in said


def test_each_owner_is_named_with_the_points_of_their_locks():
    site = done(locked_site(), lock("Q1", "105", 11, by="hal"))
    p = p1(site)
    assert take_theirs_off(site, p, p.hanging) == (
        "Hal Helper takes theirs off Main switch (saw cabinet). "
        "Odo Holder takes theirs off Main switch (saw cabinet), Conveyor switch (drill cabinet), "
        "Gantry (over the saw)."
    )


def test_a_point_is_called_by_its_designation():
    site = with_node(SITE, "Q1", designation="=C1-QB1")
    assert spot(site, "Q1") == "=C1-QB1 (saw cabinet)"
    assert spot(with_node(site, "Q1", place=""), "Q1") == "=C1-QB1"
    assert spot(site, "GONE") == "GONE"


def test_a_long_crew_is_not_read_out():
    site = done(SITE, request(), issue(crew=("hal", "pia")))
    assert the_crew(site, p1(site)) == "Odo Holder, Hal Helper or Pia Holder"
    site = with_permit(site, crew_named=("hal", "pia", "maud"))
    assert the_crew(site, p1(site)) == "Odo Holder or anyone of the crew"


GOES_ON = "You go on with the next step of P-1, on its page."


@pytest.mark.parametrize(
    ("phase", "right", "who"),
    [
        (Phase.REQUESTED, (Phase.ISSUED,), "An issuer issues it first, on P-1's page: Maud Issuer."),
        (Phase.ISSUED, AT_WORK, "Odo Holder accepts it first, on P-1's page."),
        (
            Phase.ISOLATING,
            (Phase.ISOLATED,),
            "Odo Holder or Hal Helper locks and tests every point of the plan first, on P-1's page.",
        ),
        (Phase.ISOLATED, (Phase.TESTING,), "Odo Holder begins a test cycle first, on P-1's page."),
        (Phase.TESTING, (Phase.ISOLATED,), "Odo Holder or Hal Helper isolates again first, on P-1's page."),
        (Phase.RESTORING, (Phase.ISOLATED,), "Odo Holder or Hal Helper isolates again first, on P-1's page."),
        (Phase.RESTORING, AT_WORK, GOES_ON),  # handed back, or locked, already
        (Phase.ISOLATED, (Phase.TESTING, Phase.RESTORING), GOES_ON),  # isolated again already
        (Phase.RESTORING, (Phase.REQUESTED, Phase.ISSUED, Phase.ISOLATING), GOES_ON),  # too late to cancel
        (Phase.RESTORING, (Phase.TESTING,), GOES_ON),
        (Phase.TESTING, (Phase.RESTORING,), "Odo Holder hands the machine back first, on P-1's page."),
        (Phase.ISOLATED, (Phase.ISSUED,), GOES_ON),
    ],
)
def test_whoever_leads_to_a_phase_in_which_it_is_possible_is_named(phase, right, who):
    site = with_permit(accepted_site(), phase=phase)
    assert leads_to(site, p1(site), right) == who


def with_permit(site, **changes):
    return replace(site, permits={"P-1": replace(p1(site), **changes)})


# ── nobody is told to do what would expose someone ──────────────────────────────────────────────────────


INSIDE = {
    "isolated": occupied_site,
    "stopped": lambda: done(occupied_site(), stop(25)),
}
NOT_NOW = [remove("Q1", by="hal"), reenergise(40), cancel(40), reisolate(40), hand_back(40), ready(40)]


@pytest.mark.parametrize("ask", NOT_NOW, ids=lambda ask: type(ask).__name__)
@pytest.mark.parametrize("state", INSIDE)
def test_with_someone_inside_nobody_is_told_to_take_a_lock_off_or_to_bring_power_back(state, ask):
    """A refusal is read at the switch: what it says may be done at once."""
    said = " ".join(unmet.who for unmet in refusal(INSIDE[state](), ask).unmet)
    for order in ("takes it off", "takes theirs off", "takes it away", "begins a test cycle"):
        assert order not in said


def test_a_lock_comes_off_when_it_is_its_turn():
    site = handed_back_site()
    assert "Odo Holder takes it off" in " ".join(unmet.who for unmet in refusal(site, reenergise(60)).unmet)


def test_an_issuer_who_holds_the_permit_is_not_named_to_sanction_it_unless_the_site_allows_own_issue():
    both = with_person(locked_site(), "odo", roles=frozenset({"technician", "issuer"}))
    assert sanctions(both, p1(both)) == "An issuer gives one on P-1's page: Maud Issuer."
    allowed = replace(both, policy=replace(both.policy, own_issue=True))
    assert sanctions(allowed, p1(allowed)).endswith("Maud Issuer, Odo Holder.")


def test_whoever_is_to_take_over_from_someone_gone_is_named_in_their_place():
    site = with_permit(locked_site(), holder_gone=True, next_holder="pia")
    assert the_holder(site, p1(site)) == "Pia Holder, once they have taken P-1 over,"
    assert the_crew(site, p1(site)) == "Pia Holder or Hal Helper"

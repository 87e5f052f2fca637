"""The rooms below, plant and people, know no codes: each place that refuses is held to its rules."""

import ast
from pathlib import Path

import permits.people
import permits.plant
from permits.work.rules.clauses import BELOW, RULES

RAISED = {"Declined", "PinRefused", "SignInRefused", "PlantRefused"}
FOLDERS = {
    room: Path(package.__file__).parent / "actions"
    for room, package in (("people", permits.people), ("plant", permits.plant))
}
TYPED = "how something is typed"  # among what is not listed

# By hand: each function that refuses → how often it does, and the rules that it asks.
REFUSES = {
    "people/authorisations/authorise": (3, {"machine-unknown", "authorises-oneself", "days-in-order"}),
    "people/authorisations/write_authorisation": (2, {"days-in-order", "authorised-already"}),
    "people/authorisations/withdraw_authorisation": (1, {"authorised-already"}),
    "people/hosting/change_employer": (1, {"hosted-so-already"}),
    "people/hosting/host_contractor": (2, {"employers-told", "hosting-days"}),
    "people/hosting/write_hosting": (5, {"host-of-site", "hosting-days", "employers-told"}),
    "people/hosting/end_hosting": (1, {"hosted-so-already"}),
    "people/hosting/_own_person": (1, {"host-of-site"}),
    "people/hosting/_end_for_another": (2, {"hosted-so-already", "hosting-days"}),
    "people/hosting/_refuse_oneself": (1, {"says-of-oneself"}),
    "people/hosting/_refuse_while_hosted": (1, {"hosted-as-contractor"}),
    "people/hosting/_refuse_who_hosts": (1, {"hosted-as-contractor"}),
    "people/passwords/sign_in": (1, {"sign-in-waits", "disabled"}),
    "people/passwords/prove_password": (1, {"sign-in-waits"}),
    "people/passwords/reset_password": (1, {"resets-oneself"}),
    "people/people/new_person": (3, {"sign-in-taken", TYPED}),
    "people/people/write_person": (1, {"sign-in-taken"}),
    "people/people/rename_person": (2, {"so-already", TYPED}),
    "people/people/disable_person": (2, {"disables-oneself", "so-already"}),
    "people/people/enable_person": (1, {"so-already"}),
    "people/pins/check_pin": (5, {"disabled", "no-pin", "wrong-pin"}),
    "people/pins/signer": (1, {"nobody-of-that-name"}),
    "people/pins/set_pin": (2, {"plain-pin", "wrong-pin"}),
    "people/pins/reset_pin": (1, {"resets-oneself"}),
    "people/roles/join_site": (1, {"no-such-pair"}),
    "people/roles/write_role": (1, {"so-already"}),
    "people/roles/end_role": (1, {"so-already"}),
    "people/roles/refuse_without_administrator": (1, {"last-administrator"}),
    "people/sites/add_site": (3, {TYPED}),
    "plant/graph/_refuse_removals": (1, {"carries-lock"}),
    "plant/graph/_without": (1, {"not-in-plant"}),
    "plant/procedures/draft_procedure": (1, {"procedure-of-its-machine"}),
    "plant/procedures/approve_procedure": (
        1, {"own-approval", "no-draft", "procedure-in-full", "procedure-isolates"},
    ),
    "plant/procedures/_computed": (2, {"cannot-stay-live", "nothing-isolates"}),
    "plant/procedures/_proven": (3, {"points-as-chosen", "procedure-isolates", "cannot-stay-live"}),
    "plant/tags/issue_tags": (2, {"tag-for-point", "one-tag"}),
    "plant/tags/reissue_tag": (3, {"tag-with-reason", "tag-for-point"}),
}  # fmt: skip

# Asked by the rules of the plant and no action: where a file or a form is read.
WHEN_READ = {"limit-loosened": "testlimits.py", "line-loosened": "hazardrows.py"}
LISTED = {code for _, _, topics in BELOW for topic in topics for code in topic.rules}


def raises_in_the_actions():
    """Each function of the rooms below that refuses → how often."""
    found = {}
    for room, folder in FOLDERS.items():
        for file in sorted(folder.glob("*.py")):
            for function in ast.parse(file.read_text(encoding="utf-8")).body:
                if isinstance(function, ast.FunctionDef):
                    count = sum(map(refuses, ast.walk(function)))
                    found |= {f"{room}/{file.stem}/{function.name}": count} if count else {}
    return found


def refuses(node):
    return (
        isinstance(node, ast.Raise)
        and isinstance(node.exc, ast.Call)
        and ast.unparse(node.exc.func) in RAISED
    )


def test_every_place_that_refuses_is_held_to_its_rules():
    assert {place: count for place, (count, _) in REFUSES.items()} == raises_in_the_actions()


def test_every_rule_of_the_rooms_below_is_asked_somewhere_and_none_is_missing():
    asked = set().union(*(codes for _, codes in REFUSES.values())) - {TYPED}
    assert asked | set(WHEN_READ) == LISTED


def test_what_is_asked_when_the_plant_is_read_is_said_there():
    rules = FOLDERS["plant"].parent / "rules"
    for file in WHEN_READ.values():
        assert "never loosened" in (rules / file).read_text(encoding="utf-8")


def test_no_code_of_theirs_is_one_of_the_permits():
    assert not LISTED & set(RULES)
    assert sum(len(topic.rules) for _, _, topics in BELOW for topic in topics) == len(LISTED)

"""The people file: what is read, and what each error says."""

from copy import deepcopy
from datetime import date

import pytest

from permits.people.rules.peoplefile import HostedBy, PeopleFileErrors, parse
from permits.people.rules.roles import Role
from tests.cast import DOCUMENT

DAY = date(2026, 11, 25)
GOOD = {
    "people": [
        {
            "sign_in": "odo",
            "name": "Odo Kestrelman",
            "roles": ["technician", "issuer"],
            "password": "fifteen-letters",
            "pin": "804216",
            "authorisations": [{"machine": "C1", "qualified": True, "starts": -1, "expires": "2027-03-31"}],
        }
    ]
}


def errors_of(**changes) -> list[str]:
    document = deepcopy(GOOD)
    document["people"][0] |= changes
    with pytest.raises(PeopleFileErrors) as caught:
        parse(document, DAY)
    return caught.value.errors


def test_days_are_dates_or_counted_from_the_day_of_loading():
    (one,) = parse(GOOD, DAY)
    assert one.roles == (Role.TECHNICIAN, Role.ISSUER)
    (grant,) = one.authorisations
    assert (grant.starts_on, grant.expires_on) == (date(2026, 11, 24), date(2027, 3, 31))


def test_the_demo_plants_people():
    people = parse(DOCUMENT, DAY)
    roles = [role for one in people for role in one.roles]
    assert roles.count(Role.ISSUER) == 2
    assert {Role.ADMINISTRATOR, Role.OFFICER, Role.AFFECTED, Role.AUDITOR} < set(roles)
    technicians = [one for one in people if Role.TECHNICIAN in one.roles]
    assert sum(any(grant.qualified for grant in one.authorisations) for one in technicians) == 2
    assert len(technicians) == 4
    assert all(one.pin for one in people)
    assert len({one.password for one in people} | {one.pin for one in people}) == 2 * len(people)


@pytest.mark.parametrize("document", [None, [], {}, {"people": {}}, {"people": None}])
def test_what_is_no_people_file(document):
    with pytest.raises(PeopleFileErrors, match='not an object with a list "people"'):
        parse(document, DAY)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"sign_in": "Odo"}, "people[0] (sign_in 'Odo'): sign_in: A sign-in name is letters a to z"),
        ({"name": " "}, "name is missing"),
        ({"name": 7}, "name is not text"),
        ({"roles": []}, "roles is not a list with a role or more"),
        ({"roles": ["boss"]}, "roles has 'boss'; known are administrator, officer"),
        ({"roles": [["technician"]]}, "roles has ['technician']"),
        ({"password": "short"}, "password is shorter than 15 characters"),
        ({"pin": "1234"}, "pin: This PIN has 4 digits"),
        ({"pim": "123456"}, "unknown pim; known are authorisations, email"),
        ({"authorisations": "C1"}, "authorisations is not a list"),
        ({"authorisations": ["C1"]}, "authorisations[0] is not an object"),
        ({"authorisations": [{"starts": 0, "expires": 1}]}, "machine is not the code of a machine"),
        (
            {"authorisations": [{"machine": "C1", "starts": 0, "expires": 1, "qualified": 1}]},
            "neither true nor",
        ),
        ({"authorisations": [{"machine": "C1", "starts": 0}]}, "starts and expires are not both dates"),
        ({"authorisations": [{"machine": "C1", "starts": 0, "expires": "31.3.2027"}]}, "are not both dates"),
        ({"authorisations": [{"machine": "C1", "starts": 0, "expires": True}]}, "are not both dates"),
        ({"authorisations": [{"machine": "C1", "starts": 5, "expires": 1}]}, "(2026-11-26) is before starts"),
        (
            {"authorisations": [{"machine": "C1", "starts": 0, "expires": 1, "end": 1}]},
            "unknown end; known are",
        ),
    ],
)
def test_an_error_says_where_and_what(changes, says):
    (error,) = errors_of(**changes)
    assert error.startswith("people[0]")
    assert says in error


HOSTED = {"employer": "Harrowmere Fitters", "host": "maud", "hosted_until": 5, "informed": "told"}


def test_a_contractor_with_a_host():
    document = {"people": [GOOD["people"][0] | HOSTED]}
    (one,) = parse(document, DAY)
    assert one.hosted == HostedBy("maud", date(2026, 11, 30), "told")
    (own,) = parse(GOOD, DAY)
    assert own.hosted is None


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"employer": " "}, "host, hosted_until, informed without an employer; only a contractor has a host"),
        ({"host": ""}, "host missing beside hosted_until, informed; a host needs all three"),
        ({"hosted_until": None}, "hosted_until missing beside host, informed"),
        ({"informed": " "}, "informed missing beside host, hosted_until; a host needs all three"),
        ({"host": "odo"}, "host is the person themselves"),
        ({"host": 7}, "host is not text"),
        ({"informed": ["told"]}, "informed is not text"),
        (
            {"hosted_until": "soon"},
            'hosted_until is not a date such as "2026-03-31" or a whole number of days',
        ),
        ({"hosted_until": True}, "hosted_until is not a date"),
        ({"hosted_until": -1}, "hosted_until (2026-11-24) is past; the day of loading (2026-11-25) or later"),
    ],
)
def test_a_host_that_cannot_be_says_why(changes, says):
    (error,) = errors_of(**(HOSTED | changes))
    assert error.startswith("people[0] (sign_in 'odo'): ")
    assert says in error


def test_the_day_of_loading_is_a_last_day():
    (one,) = parse({"people": [GOOD["people"][0] | HOSTED | {"hosted_until": 0}]}, DAY)
    assert one.hosted.until == DAY


def test_a_host_in_the_file_who_is_a_contractor_too():
    maud = GOOD["people"][0] | {"sign_in": "maud", "employer": "Oakhaven Assurance"}
    with pytest.raises(PeopleFileErrors, match="host 'maud' is a contractor of Oakhaven Assurance"):
        parse({"people": [GOOD["people"][0] | HOSTED, maud]}, DAY)


def test_all_errors_are_named_not_only_the_first():
    assert len(errors_of(name="", password="short", roles=["boss"])) == 3


def test_a_name_that_stands_there_twice():
    with pytest.raises(PeopleFileErrors, match="sign_in 'odo' stands there twice"):
        parse({"people": GOOD["people"] * 2}, DAY)


def test_a_row_that_is_no_object():
    with pytest.raises(PeopleFileErrors, match=r"people\[1\] is not an object"):
        parse({"people": [*GOOD["people"], "odo"]}, DAY)

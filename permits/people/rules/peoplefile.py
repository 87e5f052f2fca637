"""The people file: who is to be loaded at a site. Parsed as a whole; every error is named.

{"people": [{"sign_in", "name", "roles": [role, …], "password", "pin"?, "email"?,
             "employer"?, "host"?, "hosted_until"?, "informed"?,
             "authorisations"?: [{"machine", "qualified"?, "starts", "expires"}]}]}
`starts` and `expires` are dates ("2026-03-31", the last day included) or whole numbers of days from the day
of loading (-30, 300), so that an invented plant is never out of date; so is `hosted_until`. Someone with an
`employer` is a contractor; `host` is the sign-in name of who answers for them from the day of loading up to
`hosted_until`, `informed` what the two employers told each other. "note" may stand anywhere.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from permits.people.rules.roles import Role
from permits.people.rules.sign_in_names import sign_in_objection
from permits.people.rules.standing import Grant
from permits.people.rules.waiting import pin_objection

LEAST_PASSWORD = 15
HOSTING_KEYS = ("host", "hosted_until", "informed")
TEXTS = ("sign_in", "name", "password", "pin", "email", "employer", "host", "informed")
PERSON_KEYS = {*TEXTS, "roles", "hosted_until", "authorisations", "note"}
AUTHORISATION_KEYS = {"machine", "qualified", "starts", "expires", "note"}


@dataclass(frozen=True, slots=True)
class HostedBy:
    """Who answers for a contractor of the file (a sign-in name), the last day, what the employers said."""

    host: str
    until: date
    informed: str


@dataclass(frozen=True, slots=True)
class Newcomer:
    """One person of the file."""

    sign_in: str
    name: str
    roles: tuple[Role, ...]
    password: str
    pin: str
    email: str
    employer: str
    authorisations: tuple[Grant, ...]
    hosted: HostedBy | None = None


class PeopleFileErrors(Exception):
    """The file cannot be loaded; `errors` has one line each: where, what was wrong, what would be right."""

    def __init__(self, errors: list[str]) -> None:
        super().__init__("\n".join(errors))
        self.errors = errors


def parse(document: object, day: date) -> tuple[Newcomer, ...]:
    """The people of the file, with days counted from `day`. Raises PeopleFileErrors."""
    if not isinstance(document, Mapping) or not isinstance(document.get("people"), list):
        raise PeopleFileErrors(['the file is not an object with a list "people"'])
    errors: list[str] = []
    found = [_newcomer(row, f"people[{index}]", day, errors) for index, row in enumerate(document["people"])]
    names = [one.sign_in for one in found if one]
    errors += _hosts_who_are_contractors([one for one in found if one])
    errors += [
        f"people: sign_in {name!r} stands there twice" for name in sorted(set(names)) if names.count(name) > 1
    ]
    if errors:
        raise PeopleFileErrors(errors)
    return tuple(one for one in found if one)


def _newcomer(row: Any, where: str, day: date, errors: list[str]) -> Newcomer | None:
    if not isinstance(row, Mapping):
        errors.append(f"{where} is not an object")
        return None
    before = len(errors)
    where = f"{where} (sign_in {row.get('sign_in')!r})"
    errors += [f"{where}: {problem}" for problem in (*_problems(row), *_hosting_problems(row, day))]
    held = row.get("authorisations")
    grants = [
        _grant(one, f"{where} authorisations[{index}]", day, errors)
        for index, one in enumerate(held if isinstance(held, list) else [])
    ]
    if len(errors) > before:
        return None
    return Newcomer(
        sign_in=row["sign_in"],
        name=row["name"].strip(),
        roles=tuple(Role(role) for role in row["roles"]),
        password=row["password"],
        pin=row.get("pin", ""),
        email=row.get("email", ""),
        employer=row.get("employer", "").strip(),
        authorisations=tuple(one for one in grants if one),
        hosted=_hosted(row, day),
    )


def _problems(row: Mapping[str, Any]) -> Iterator[str]:
    if unknown := sorted(set(row) - PERSON_KEYS):
        yield f"unknown {', '.join(unknown)}; known are {', '.join(sorted(PERSON_KEYS))}"
    for key in TEXTS:
        if not isinstance(row.get(key, ""), str):
            yield f"{key} is not text"
            return
    if objection := sign_in_objection(row.get("sign_in", "")):
        yield f"sign_in: {objection}"
    if not row.get("name", "").strip():
        yield "name is missing"
    if len(row.get("password", "")) < LEAST_PASSWORD:
        yield f"password is shorter than {LEAST_PASSWORD} characters"
    if row.get("pin") and (objection := pin_objection(row["pin"])):
        yield f"pin: {objection}"
    roles = row.get("roles")
    if not isinstance(roles, list) or not roles:
        yield "roles is not a list with a role or more"
    elif wrong := [role for role in roles if role not in list(Role)]:
        yield f"roles has {', '.join(map(repr, wrong))}; known are {', '.join(Role)}"
    if not isinstance(row.get("authorisations") or [], list):
        yield "authorisations is not a list"


def _hosting_problems(row: Mapping[str, Any], day: date) -> Iterator[str]:
    """A host comes with a last day and with what was told, and for a contractor only."""
    if not all(isinstance(row.get(key, ""), str) for key in TEXTS):
        return
    given = [key for key in HOSTING_KEYS if row.get(key) is not None and str(row[key]).strip()]
    if not given:
        return
    if lacking := [key for key in HOSTING_KEYS if key not in given]:
        yield f"{', '.join(lacking)} missing beside {', '.join(given)}; a host needs all three"
    if not row.get("employer", "").strip():
        yield f"{', '.join(given)} without an employer; only a contractor has a host"
    if row.get("host") and row.get("host") == row.get("sign_in"):
        yield "host is the person themselves; the sign-in name of one of the site's own people would be right"
    if "hosted_until" in given:
        until = _day(row["hosted_until"], day)
        if until is None:
            yield 'hosted_until is not a date such as "2026-03-31" or a whole number of days'
        elif until < day:
            yield f"hosted_until ({until}) is past; the day of loading ({day}) or later would be right"


def _hosted(row: Mapping[str, Any], day: date) -> HostedBy | None:
    """The hosting of a row without problems."""
    until = _day(row.get("hosted_until"), day)
    return HostedBy(row["host"], until, row["informed"].strip()) if row.get("host") and until else None


def _hosts_who_are_contractors(people: list[Newcomer]) -> Iterator[str]:
    employers = {one.sign_in: one.employer for one in people if one.employer}
    for one in people:
        if one.hosted and (employer := employers.get(one.hosted.host)):
            yield (
                f"people (sign_in {one.sign_in!r}): host {one.hosted.host!r} is a contractor of {employer}; "
                "one of the site's own people would be right"
            )


def _grant(row: Any, where: str, day: date, errors: list[str]) -> Grant | None:
    if not isinstance(row, Mapping):
        errors.append(f"{where} is not an object")
        return None
    if unknown := sorted(set(row) - AUTHORISATION_KEYS):
        errors.append(
            f"{where}: unknown {', '.join(unknown)}; known are {', '.join(sorted(AUTHORISATION_KEYS))}"
        )
    machine, qualified = row.get("machine"), row.get("qualified", False)
    starts, expires = _day(row.get("starts"), day), _day(row.get("expires"), day)
    if not isinstance(machine, str) or not machine:
        errors.append(f"{where}: machine is not the code of a machine")
    elif not isinstance(qualified, bool):
        errors.append(f"{where}: qualified is neither true nor false")
    elif starts is None or expires is None:
        errors.append(
            f'{where}: starts and expires are not both dates such as "2026-03-31" or whole numbers of days'
        )
    elif expires < starts:
        errors.append(f"{where}: expires ({expires}) is before starts ({starts})")
    else:
        return Grant(machine, qualified, starts, expires)
    return None


def _day(value: object, today: date) -> date | None:
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) < 36_525:
        return today + timedelta(days=value)
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return None
    return None

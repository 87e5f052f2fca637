"""Who may open which page of the people room: written by hand, compared with the routes by the tests."""

from permits.people.rules.roles import Role

ADMINISTRATOR, OFFICER, AUDITOR = Role.ADMINISTRATOR, Role.OFFICER, Role.AUDITOR

EVERYONE = "everyone, signed in or not"
SIGNED_IN = "anyone signed in, even without a site"
MEMBERS = frozenset(Role)

WHO_MAY: dict[str, str | frozenset[Role]] = {
    "people:sign-in": EVERYONE,
    "people:sign-out": EVERYONE,
    "people:site": SIGNED_IN,
    "people:me": MEMBERS,
    "people:pin": MEMBERS,
    "people:password": SIGNED_IN,
    "people:end-sessions": SIGNED_IN,
    "people:people": frozenset({ADMINISTRATOR, OFFICER, AUDITOR}),
    "people:add": frozenset({ADMINISTRATOR}),
    "people:join": frozenset({ADMINISTRATOR}),
    "people:person": frozenset({ADMINISTRATOR, OFFICER, AUDITOR}),
    "people:rename": frozenset({ADMINISTRATOR}),
    "people:grant-role": frozenset({ADMINISTRATOR}),
    "people:end-role": frozenset({ADMINISTRATOR}),
    "people:authorise": frozenset({OFFICER}),
    "people:withdraw-authorisation": frozenset({OFFICER}),
    "people:employer": frozenset({OFFICER}),
    "people:host": frozenset({OFFICER}),
    "people:end-hosting": frozenset({OFFICER}),
    "people:reset-pin": frozenset({ADMINISTRATOR, OFFICER}),
    "people:reset-password": frozenset({ADMINISTRATOR}),
    "people:disable": frozenset({ADMINISTRATOR}),
    "people:enable": frozenset({ADMINISTRATOR}),
}

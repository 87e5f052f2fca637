"""Who may open which page of the records room: written by hand, compared with the routes by the tests."""

from permits.people.rules.roles import Role

DESK = frozenset({Role.ADMINISTRATOR, Role.OFFICER, Role.AUDITOR})
ALL_BUT_AFFECTED = frozenset(Role) - {Role.AFFECTED}

WHO_MAY: dict[str, frozenset[Role]] = {
    "records:search": DESK,
    "records:exceptions": DESK,
    "records:ledger": DESK,
    "records:story": ALL_BUT_AFFECTED,
    "records:pdf": ALL_BUT_AFFECTED,
    "records:download": ALL_BUT_AFFECTED,
}

"""Who may open which page of the permit's life: by hand, for an officer to read and tests to compare."""

from permits.people.rules.roles import Role
from tests.people.who_may import MEMBERS

AT_WORK = frozenset({Role.TECHNICIAN})
ASKS = frozenset({Role.TECHNICIAN, Role.ISSUER, Role.OFFICER})
SIGNS_OUT = frozenset({Role.ISSUER})
OFFICER = frozenset({Role.OFFICER})

WHO_MAY = {
    "work:home": MEMBERS,
    "work:board": MEMBERS,
    "work:point-by-token": MEMBERS,
    "work:find": MEMBERS,
    "work:point-by-code": MEMBERS,
    "work:choose-machine": ASKS,
    "work:ask-for-permit": ASKS,
    "work:permit": MEMBERS,
    "work:picture": MEMBERS,
    "work:issue": SIGNS_OUT,
    "work:extend": SIGNS_OUT,
    "work:sanction": SIGNS_OUT,
    "work:cancel": ASKS,
    "work:end-sanction": ASKS,
    "work:accept": AT_WORK,
    "work:name-crew": frozenset({Role.TECHNICIAN, Role.ISSUER}),
    "work:tell": AT_WORK,
    "work:lock": AT_WORK,
    "work:release": AT_WORK,
    "work:choose-verify": AT_WORK,
    "work:verify": AT_WORK,
    "work:choose-try-start": AT_WORK,
    "work:try-start": AT_WORK,
    "work:sign-on": AT_WORK,
    "work:sign-off": MEMBERS,
    "work:check": AT_WORK,
    "work:defects": frozenset({Role.TECHNICIAN, Role.OFFICER}),
    "work:confirm-clear": MEMBERS,
    "work:leave-watch": MEMBERS,
    "work:begin-cycle": AT_WORK,
    "work:ready": AT_WORK,
    "work:reisolate": AT_WORK,
    "work:hand-back": AT_WORK,
    "work:remove-locks": MEMBERS,
    "work:reenergise": AT_WORK,
    "work:close": frozenset({Role.TECHNICIAN, Role.ISSUER}),
    "work:close-out-of-use": OFFICER,
}

"""What can be done about people; the only writer of this room's tables. One file per topic."""

from permits.people.actions.authorisations import authorise, withdraw_authorisation
from permits.people.actions.hosting import change_employer, end_hosting, host_contractor
from permits.people.actions.loading import Loaded, load_people
from permits.people.actions.passwords import (
    fresh_password,
    prove_password,
    reset_password,
    set_password,
    sign_in,
)
from permits.people.actions.people import (
    add_person,
    disable_person,
    enable_person,
    end_sessions,
    rename_person,
)
from permits.people.actions.pins import check_pin, reset_pin, set_pin, sign_again, signer
from permits.people.actions.roles import end_role, grant_role, join_site
from permits.people.actions.sites import SETUP, add_site
from permits.people.rules.declined import Declined, PinRefused, SignInRefused

__all__ = [
    "SETUP",
    "Declined",
    "Loaded",
    "PinRefused",
    "SignInRefused",
    "add_person",
    "add_site",
    "authorise",
    "change_employer",
    "check_pin",
    "disable_person",
    "enable_person",
    "end_hosting",
    "end_role",
    "end_sessions",
    "fresh_password",
    "grant_role",
    "host_contractor",
    "join_site",
    "load_people",
    "prove_password",
    "rename_person",
    "reset_password",
    "reset_pin",
    "set_password",
    "set_pin",
    "sign_again",
    "sign_in",
    "signer",
    "withdraw_authorisation",
]

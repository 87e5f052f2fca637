"""The kinds of ledger entries that this room writes."""

from enum import StrEnum


class Kind(StrEnum):
    """One kind for each thing that can happen to sites and people."""

    SITE_ADDED = "SITE_ADDED"
    PERSON_ADDED = "PERSON_ADDED"
    NAME_CHANGED = "NAME_CHANGED"
    PERSON_DISABLED = "PERSON_DISABLED"
    PERSON_ENABLED = "PERSON_ENABLED"
    ROLE_GRANTED = "ROLE_GRANTED"
    ROLE_ENDED = "ROLE_ENDED"
    AUTHORISED = "AUTHORISED"
    AUTHORISATION_WITHDRAWN = "AUTHORISATION_WITHDRAWN"
    PASSWORD_SET = "PASSWORD_SET"
    PASSWORD_RESET = "PASSWORD_RESET"
    PIN_SET = "PIN_SET"
    PIN_RESET = "PIN_RESET"
    PIN_FAILED = "PIN_FAILED"
    PIN_LOCKED = "PIN_LOCKED"

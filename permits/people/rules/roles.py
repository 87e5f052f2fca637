"""The six roles a person can have at a site, and their words."""

from enum import StrEnum


class Role(StrEnum):
    """What a person is at one site; a person may have several."""

    ADMINISTRATOR = "administrator"
    OFFICER = "officer"
    ISSUER = "issuer"
    TECHNICIAN = "technician"
    AFFECTED = "affected"
    AUDITOR = "auditor"

    @property
    def words(self) -> str:
        """The role as the plant says it."""
        return WORDS[self]

    @property
    def may(self) -> str:
        """What the role is for, in one line."""
        return MAY[self]


WORDS = {
    Role.ADMINISTRATOR: "administrator",
    Role.OFFICER: "safety officer",
    Role.ISSUER: "issuer",
    Role.TECHNICIAN: "authorised technician",
    Role.AFFECTED: "affected",
    Role.AUDITOR: "auditor",
}

MAY = {
    Role.ADMINISTRATOR: "adds people and gives them their roles",
    Role.OFFICER: "describes the plant, approves procedures, authorises people for machines",
    Role.ISSUER: "signs permits out and sanctions tests",
    Role.TECHNICIAN: "locks out and works on the machines they are authorised for",
    Role.AFFECTED: "works at or near a machine and must be told",
    Role.AUDITOR: "reads every record, changes nothing",
}

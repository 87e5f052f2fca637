"""The permit's tables: what the ledger says, in rows that can be searched. No decisions: those are in rules.

Each child row is one small value of `rules/words.py`, field by field; `n` is its place in the permit's tuple.
store.py keeps both alike.
"""

from permits.work.models.columns import CODE, OPEN_PHASES, REF
from permits.work.models.message import Message
from permits.work.models.part import Part
from permits.work.models.permit import Permit
from permits.work.models.points import Lock, StoreRelease, Verification
from permits.work.models.site_wide import OutOfUse, SitePolicy, SiteStanding, Untold
from permits.work.models.work import (
    Acknowledgement,
    Confirmation,
    CrewSignOn,
    Defect,
    Halt,
    JobSeen,
    MachineCheck,
    Notice,
    Sanction,
    Signature,
)

__all__ = [
    "CODE",
    "OPEN_PHASES",
    "REF",
    "Acknowledgement",
    "Confirmation",
    "CrewSignOn",
    "Defect",
    "Halt",
    "JobSeen",
    "Lock",
    "MachineCheck",
    "Message",
    "Notice",
    "OutOfUse",
    "Part",
    "Permit",
    "Sanction",
    "Signature",
    "SitePolicy",
    "SiteStanding",
    "StoreRelease",
    "Untold",
    "Verification",
]

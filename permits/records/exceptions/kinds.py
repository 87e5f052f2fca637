"""The kinds of exceptions and notes: their words, their order, and which of them are the whole site's."""

from __future__ import annotations

from enum import StrEnum


class What(StrEnum):
    """The kinds, in the order in which a reader should meet them; the value is its word in an address."""

    CHANGED_ENTRY = "changed-entry"
    LOST_WITH_CREW = "lost-with-crew"
    EMERGENCY = "emergency"
    STOPPED_WITH_CREW = "stopped-with-crew"
    ABSENT_SIGNED_OFF = "absent-signed-off"
    ABSENT_LOCK = "absent-lock"
    EXPIRED_WITH_CREW = "expired-with-crew"
    FAILED_TEST = "failed-test"
    EARLY_READING = "early-reading"
    MISSED_RETEST = "missed-retest"
    STOPPED = "stopped"
    HOLDER_REPLACED = "holder-replaced"
    OWN_ISSUE = "own-issue"
    LATE_ENTRY = "late-entry"
    ON_PAPER = "on-paper"
    TAG_FOR_LOCK = "tag-for-lock"
    STALE_CONFIRMATION = "stale-confirmation"
    RADIO_CONFIRMATION = "radio-confirmation"
    DEFECT_ACCEPTED = "defect-accepted"
    AGAINST_READINGS = "against-readings"
    RESULT_NOT_GOOD = "result-not-good"
    OVERDUE_INSTRUMENT = "overdue-instrument"
    READING_STRUCK = "reading-struck"
    OUT_OF_USE = "out-of-use"
    HANDED_OVER_LATE = "handed-over-late"
    EXPIRED = "expired"
    WITHDRAWN_TAG = "withdrawn-tag"
    WRONG_PIN = "wrong-pin"
    PROCEDURE_UNPROVEN = "procedure-unproven"
    SUSPENDED = "suspended"
    PLAN_AMENDED = "plan-amended"
    NOT_ACKNOWLEDGED = "not-acknowledged"
    TYPED_CODE = "typed-code"
    ANOTHERS_DEVICE = "anothers-device"
    PROOF_LOST = "proof-lost"
    EMERGENCY_ENDED = "emergency-ended"
    PAPER_ENDED = "paper-ended"
    TOLD_BACK = "told-back"
    POLICY_CHANGED = "policy-changed"

    @property
    def words(self) -> str:
        return WORDS[self]

    @property
    def is_note(self) -> bool:
        return self in NOTES

    @property
    def is_around(self) -> bool:
        return self in AROUND


WORDS = {
    What.CHANGED_ENTRY: "entry was changed",
    What.LOST_WITH_CREW: "isolation lost with people inside",
    What.EMERGENCY: "emergency at the whole site",
    What.STOPPED_WITH_CREW: "work stopped with people inside",
    What.ABSENT_SIGNED_OFF: "absent person signed off",
    What.ABSENT_LOCK: "absent person's lock taken off",
    What.EXPIRED_WITH_CREW: "time over with people inside",
    What.FAILED_TEST: "test failed",
    What.EARLY_READING: "read before the wait was over",
    What.MISSED_RETEST: "not tested again in time",
    What.STOPPED: "work stopped, nobody inside",
    What.HOLDER_REPLACED: "holder replaced by an officer",
    What.OWN_ISSUE: "issued to oneself",
    What.LATE_ENTRY: "entered late",
    What.ON_PAPER: "whole site on paper",
    What.TAG_FOR_LOCK: "a tag stood for a lock",
    What.STALE_CONFIRMATION: "confirmation went stale",
    What.RADIO_CONFIRMATION: "confirmed by radio",
    What.DEFECT_ACCEPTED: "defect accepted",
    What.AGAINST_READINGS: "corrected against the readings",
    What.RESULT_NOT_GOOD: "result not good",
    What.OVERDUE_INSTRUMENT: "instrument out of date",
    What.READING_STRUCK: "reading struck out",
    What.OUT_OF_USE: "closed not proven",
    What.HANDED_OVER_LATE: "handed over after its time was over",
    What.EXPIRED: "time over",
    What.WITHDRAWN_TAG: "withdrawn tag read",
    What.WRONG_PIN: "wrong PIN",
    What.PROCEDURE_UNPROVEN: "procedure no longer holds",
    What.SUSPENDED: "suspended",
    What.PLAN_AMENDED: "plan amended",
    What.NOT_ACKNOWLEDGED: "notice not acknowledged",
    What.TYPED_CODE: "code typed by hand",
    What.ANOTHERS_DEVICE: "on another's device",
    What.PROOF_LOST: "proof lost, nobody inside",
    What.EMERGENCY_ENDED: "emergency ended",
    What.PAPER_ENDED: "no longer on paper",
    What.TOLD_BACK: "told on coming back",
    What.POLICY_CHANGED: "the site's numbers changed",
}
NOTES = frozenset({
    What.SUSPENDED, What.PLAN_AMENDED, What.NOT_ACKNOWLEDGED, What.TYPED_CODE, What.ANOTHERS_DEVICE,
    What.PROOF_LOST, What.EMERGENCY_ENDED, What.PAPER_ENDED, What.TOLD_BACK, What.POLICY_CHANGED,
})  # fmt: skip
AROUND = frozenset({
    What.WITHDRAWN_TAG, What.WRONG_PIN, What.PROCEDURE_UNPROVEN, What.EMERGENCY, What.EMERGENCY_ENDED,
    What.ON_PAPER, What.PAPER_ENDED, What.TOLD_BACK, What.POLICY_CHANGED,
})  # fmt: skip
ABSENT = frozenset({What.ABSENT_SIGNED_OFF, What.ABSENT_LOCK})
STILL = dict.fromkeys(ABSENT, "NOT TOLD YET") | {
    What.EMERGENCY: "NOT ENDED YET",
    What.ON_PAPER: "NOT ENDED YET",
}
"""What stays open until a later entry settles it, and what is said meanwhile. The exception itself stays."""

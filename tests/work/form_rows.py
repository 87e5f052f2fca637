"""What a row of the table of forms says, and the sentences that many of them share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from permits.people.models import Person
from permits.people.rules.roles import Role
from tests.cast import PIN
from tests.work.the_job import TheJob

Fields = dict[str, Any]
KEPT_BACK = ("key", "seen", "csrfmiddlewaretoken", "pin", "second_pin")  # not typed, or not shown again


@dataclass(frozen=True, kw_only=True)
class Form:
    """`good` is done at `stage`, refused at `refused_at`. `bad`: (field, typed, what the page says then)."""

    stage: str
    who: str
    role: Role
    good: Callable[[TheJob], Fields]
    bad: tuple[tuple[str, Any, str], ...] = ()
    refused_at: str
    arrange: Callable[[TheJob], None] = lambda job: None
    signed: bool = False
    lends: bool = False
    fresh: bool = False  # a page that has gone stale will not do
    lender: str = "wim"  # on whose phone someone else does it
    path: str = ""
    done: str = ""

    def prepare(self, job: TheJob) -> TheJob:
        job.to(self.stage)
        self.arrange(job)
        return job

    def typed(self, job: TheJob) -> Fields:
        fields = self.good(job)
        return fields | {"pin": PIN[self.who]} if self.signed else fields


def ref(sign_in: str) -> str:
    return Person.objects.get(sign_in=sign_in).ref


NO_NUMBER = "Not a whole number; a whole number from "
WORDS_MISSING = "Nothing is written; a few words would be right."
CODE_SHORT = "A code has 7 characters, like ABC-DEF-7; 3 were typed."
LONG = "x" * 501
TOO_LONG = "501 characters are too many; 500 at most would be right."
NOT_LISTED = "“NOBODY” is not in the list now; choose from the list."
PADLOCK = ("padlock", "", "The padlock's number is missing; it is stamped on the padlock.")

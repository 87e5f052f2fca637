"""The time as the server has it, moved by the test: Django's own clock, which every view asks."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

import pytest
from django.utils import timezone


@dataclass
class Clock:
    """Stands still between two requests, unless it is moved on."""

    at: datetime

    def pass_by(self, **much: float) -> None:
        self.at += timedelta(**much)


class AnyMoment(type):
    """The class that stands in for `datetime` still recognises every datetime."""

    def __instancecheck__(cls, value: object) -> bool:
        return isinstance(value, datetime)


@contextmanager
def going_by(clock: Clock) -> Iterator[None]:
    """Whatever asks Django for the time, views, sessions and commands alike, is told this clock's."""

    class ByTheClock(datetime, metaclass=AnyMoment):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:
            return clock.at.astimezone(tz)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(timezone, "datetime", ByTheClock)
        yield

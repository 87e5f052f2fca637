"""Tells people what concerns them: messages in the entries' transaction, mail once it is committed."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from django.db import transaction

from permits.people.models import Site
from permits.work import mail
from permits.work.models import Message
from permits.work.rules import events, state
from permits.work.rules.concerns import told
from permits.work.rules.written import kind_of


def tell(site: Site, before: state.Site, happened: Sequence[events.Event], entries: Sequence[int]) -> None:
    """One message per entry and person whom it concerns. `entries`: their numbers, in the same order."""
    messages = Message.objects.bulk_create(
        Message(
            site=site,
            person=person,
            entry=entries[n],
            kind=kind_of(happened[n]),
            permit=happened[n].permit,
            by=happened[n].by,
            text=text,
            urgent=urgent,
            at=happened[n].at,
        )
        for n, person, text, urgent in told(before, happened)
    )
    if messages:
        numbers = [message.pk for message in messages]
        transaction.on_commit(partial(mail.send_soon, numbers, happened[-1].at), robust=True)

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
from permits.work.rules.no_longer_urgent import overtaken_by
from permits.work.rules.written import kind_of


def tell(site: Site, before: state.Site, happened: Sequence[events.Event], entries: Sequence[int]) -> None:
    """One message per entry and person whom it concerns. `entries`: their numbers, in the same order."""
    calm_down(site, happened)
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


def calm_down(site: Site, happened: Sequence[events.Event]) -> None:
    """What called people out and is over is a message like others from now on; it stays unread."""
    for event in happened:
        kinds = overtaken_by(event)
        if kinds is None:
            continue
        urgent = Message.objects.filter(site=site, urgent=True, read_at=None)
        if isinstance(event, events.CrewSignedOff):
            urgent = urgent.filter(person=event.by)
        if isinstance(event, events.ReturnedTold):
            urgent = urgent.filter(person=event.person)
        else:
            urgent = urgent.filter(permit=event.permit)
        if kinds:
            urgent = urgent.filter(kind__in=[kind_of(kind) for kind in kinds])
        urgent.update(urgent=False)

"""Mail beside the messages: one for each person and command, tried once at once and then by the minute's job.

A mail server that is slow or down never holds up a command: mail leaves after the commit, on a thread of its
own, and what did not leave stays in the app and is tried again for a while.
"""

from __future__ import annotations

import logging
import smtplib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from threading import Thread

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db import close_old_connections
from django.db.models import F
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from permits.people.models import Person
from permits.work.models import Message

logger = logging.getLogger("permits.mail")

FIRST_TRY = timedelta(minutes=1)
"""For how long the minute's job leaves a message to the thread that tries it at once."""

TOO_LATE = timedelta(hours=12)
"""After this a message is not mailed any more: what it says has long been overtaken."""

SUBJECT = 120  # characters


def send_soon(numbers: Sequence[int], at: datetime) -> None:
    """After the commit: mail these messages without holding up whoever asked for the command."""
    messages = Message.objects.filter(pk__in=numbers)
    if not addressed(messages.values_list("person", flat=True)):
        return
    if settings.MAIL_IN_BACKGROUND:
        Thread(target=on_a_thread, args=(numbers, at), name="permits-mail").start()
    else:
        send(messages, at)


def on_a_thread(numbers: Sequence[int], at: datetime) -> None:
    """`send` with a database connection of the thread's own, and every failure in one line of the log."""
    close_old_connections()
    try:
        send(Message.objects.filter(pk__in=numbers), at)
    except Exception as error:
        logger.error("mail: the messages could not be read or marked: %s: %s", type(error).__name__, error)
    finally:
        close_old_connections()


def send_waiting(at: datetime) -> int:
    """Try again what did not leave and is not too old. Returns how many messages left."""
    waiting = Message.objects.filter(
        mailed_at=None, read_at=None, at__lte=at - FIRST_TRY, at__gt=at - TOO_LATE
    )
    return send(waiting, at)


def addressed(refs: Iterable[str]) -> dict[str, str]:
    """Reference → e-mail address, of those who have one and may still sign in."""
    people = Person.objects.filter(ref__in=set(refs), is_active=True).exclude(email="")
    return dict(people.values_list("ref", "email"))


def send(messages: Iterable[Message], at: datetime) -> int:
    """One mail per site and person; marks what left. Returns how many messages left.

    Stops where no server answers: it would only be waited for again. Who was refused before comes last.
    """
    found = Message.objects.filter(pk__in=[m.pk for m in messages], mailed_at=None)
    by_person: dict[tuple[int, str], list[Message]] = defaultdict(list)
    for message in found.select_related("site").order_by("mail_failures", "-urgent", "entry"):
        by_person[message.site_id, message.person].append(message)
    addresses = addressed(person for _, person in by_person)
    authors = {message.by for theirs in by_person.values() for message in theirs}
    names = dict(Person.objects.filter(ref__in=authors).values_list("ref", "name"))
    left = 0
    connection = get_connection(fail_silently=False)
    for (_, person), theirs in by_person.items():
        if person not in addresses:
            continue
        theirs.sort(key=lambda message: (not message.urgent, message.entry))
        rows = Message.objects.filter(pk__in=[m.pk for m in theirs])
        try:
            connection.send_messages([written(theirs, addresses[person], names)])
        except Exception as error:  # whatever a mail backend raises, the command stands
            rows.update(mail_failures=F("mail_failures") + 1)
            logger.error(
                "mail: not sent to person:%s (%s: %s); it stays in the app and is tried again",
                person, type(error).__name__, one_line(str(error)),
            )  # fmt: skip
            if isinstance(error, smtplib.SMTPResponseException | smtplib.SMTPRecipientsRefused):
                continue
            break
        rows.update(mailed_at=at)
        left += len(theirs)
    return left


def written(messages: list[Message], address: str, names: dict[str, str]) -> EmailMessage:
    """The mail about these messages of one person, the urgent ones first."""
    site, first = messages[0].site, messages[0]
    urgent = "URGENT: " if first.urgent else ""
    permits = dict.fromkeys(m.permit for m in messages if m.permit)
    with timezone.override(site.timezone):
        body = render_to_string("work/mail.txt", {
            "site": site,
            "lines": [(m, names.get(m.by, "")) for m in messages],
            "links": [settings.PUBLIC_URL + reverse("work:permit", args=[permit]) for permit in permits],
            "all": settings.PUBLIC_URL + reverse("work:messages"),
        })  # fmt: skip
    subject = f"{urgent}{first.text} [{site.name}]"
    return EmailMessage(one_line(subject)[:SUBJECT], body, to=[address])


def one_line(text: str) -> str:
    return " ".join(text.split())

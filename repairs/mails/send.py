"""The mails of one run: who gets what on a day, each once, and what could not be sent."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.models import User
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction

from repairs.mails.choices import choices_of
from repairs.mails.letters import Letter, letters_for
from repairs.models import SentMail


class NoBaseUrl(Exception):
    """There are mails to send, and nobody said where their links lead."""


@dataclass
class Posted:
    """What came of it; `failed` says of each mail to whom and why."""

    sent: list[Letter] = field(default_factory=list)
    earlier: list[Letter] = field(default_factory=list)
    failed: list[tuple[Letter, str]] = field(default_factory=list)


def without_address() -> int:
    """How many people cannot be reached at all."""
    return User.objects.filter(is_active=True, email="").count()


def letters_of(on: date) -> Iterator[Letter]:
    """Every mail of a day, person after person, whether it has gone out or not."""
    people = User.objects.filter(is_active=True).exclude(email="").select_related("person")
    for user in people.prefetch_related("groups").order_by("pk"):
        if user.has_perm("repairs.view_duedate"):
            yield from letters_for(user, choices_of(user), on)


def send_mails(on: date, at: datetime, dry_run: bool = False) -> Posted:
    """Send what has not gone out yet. One address that fails holds up no other. Nothing is
    written or sent in a dry run; what would be sent then stands as sent."""
    done, connection = Posted(), get_connection()
    gone = set(SentMail.objects.filter(**_recent(on)).values_list("user", "kind", "for_day"))
    for letter in letters_of(on):
        if not settings.BASE_URL:
            raise NoBaseUrl
        if (letter.user.pk, letter.kind, letter.for_day) in gone:
            done.earlier.append(letter)
        elif dry_run:
            done.sent.append(letter)
        else:
            _try(letter, at, connection, done)
    connection.close()
    return done


def _recent(on: date) -> dict[str, date]:
    """No mail of a day is known by a day more than a week before it."""
    return {"for_day__gt": on - timedelta(days=8)}


def _try(letter: Letter, at: datetime, connection: BaseEmailBackend, done: Posted) -> None:
    try:
        went = _send_once(letter, at, connection)
    except Exception as error:  # whatever one mail fails of, the next one is tried
        done.failed.append((letter, f"{type(error).__name__}: {error}"))
        # A server that broke off in the middle is greeted anew.
        connection.close()
        return
    (done.sent if went else done.earlier).append(letter)


@transaction.atomic
def _send_once(letter: Letter, at: datetime, connection: BaseEmailBackend) -> bool:
    """Claim the mail and hand it over in one transaction: another run waits for the claim, and
    finds it either taken or free again. Should the machine stop between the server's word and
    the commit, the mail goes out again with the same Message-ID, by which it is told as one."""
    _, claimed = SentMail.objects.get_or_create(
        user=letter.user,
        kind=letter.kind,
        for_day=letter.for_day,
        defaults={"address": letter.user.email, "sent_at": at},
    )
    if claimed:
        message(letter, connection).send()
    return claimed


def message(letter: Letter, connection: BaseEmailBackend) -> EmailMessage:
    host = urlsplit(settings.BASE_URL).hostname
    return EmailMessage(
        letter.subject,
        letter.text,
        to=[letter.user.email],
        connection=connection,
        headers={
            "Message-ID": f"<{letter.kind}.{letter.user.pk}.{letter.for_day:%Y-%m-%d}@{host}>",
            "Auto-Submitted": "auto-generated",
        },
    )

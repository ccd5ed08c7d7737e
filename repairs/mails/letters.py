"""The two mails, written for one person: rounds to walk, what is overdue, what comes next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib.auth.models import User
from django.urls import reverse

from properties.access import properties_for
from properties.models.people import MailsTell
from repairs.due.words import capital, counted, in_days
from repairs.mails.choices import MailChoices
from repairs.models import DueDate, Round, SentMail
from repairs.models.due_dates import DueDateQuerySet
from repairs.rounds.coming import looks_left, open_rounds, where_of
from repairs.whole_address import whole_address

# A mail that nobody scrolls through; the rest stands behind a link.
MOST_LINES = 50
DAYS_AHEAD = 7
_BREAKS = {ord(mark): " " for mark in "\r\n\v\f\x1c\x1d\x1e\x85\u2028\u2029"}


@dataclass(frozen=True)
class Letter:
    """One mail to write: `for_day` is what it is known by, so that it goes out once."""

    user: User
    kind: SentMail.Kind
    for_day: date
    subject: str
    text: str


@dataclass(frozen=True)
class _Part:
    """Some dates under one heading: the first of them, and how many there are."""

    one: str
    many: str
    dates: Sequence[DueDate]
    total: int


def letters_for(user: User, choices: MailChoices, on: date) -> Iterator[Letter]:
    """The mails that this person is due on a day; none where there is nothing to say."""
    if choices.weekly:
        yield from _weekly(user, choices, on)
    if choices.day_before:
        yield from _day_before(user, choices, on)


def _dates(user: User, choices: MailChoices, on: date) -> DueDateQuerySet:
    dates = DueDate.objects.reminding(on).within(properties_for(user)).with_place()
    return dates.filter(person=user) if choices.tell == MailsTell.OWN else dates


def _part(dates: DueDateQuerySet, one: str, many: str) -> _Part:
    found = list(dates[:MOST_LINES])
    total = len(found) if len(found) < MOST_LINES else dates.count()
    return _Part(one, many, found, total)


def _rounds(user: User, choices: MailChoices, on: date, days: dict[str, date]) -> Sequence[Round]:
    """Open rounds of those days with something left to look at."""
    if not user.has_perm("repairs.view_round"):
        return ()
    rounds = open_rounds(user, on, to_walk=True).filter(**days)
    if choices.tell == MailsTell.OWN:
        rounds = rounds.filter(person=user)
    return list(rounds[:MOST_LINES])


def _weekly(user: User, choices: MailChoices, on: date) -> Iterator[Letter]:
    dates, last = _dates(user, choices, on), on + timedelta(days=DAYS_AHEAD - 1)
    rounds = _rounds(user, choices, on, {"walk_on__lte": last})
    late = _part(dates.filter(due_on__lt=on), "date is overdue", "dates are overdue")
    coming = _part(
        dates.filter(due_on__gte=on, due_on__lte=last),
        f"date falls from {_day(on)} to {_day(last)}",
        f"dates fall from {_day(on)} to {_day(last)}",
    )
    parts = [part for part in (late, coming) if part.total]
    if parts or rounds:
        subject = f"Week of {_day(on)}: {coming.total:,} to come, {late.total:,} overdue"
        if rounds:
            subject += f", {counted(len(rounds), 'round', 'rounds')}"
        text = "\n".join(_text(rounds, parts, on))
        kind = SentMail.Kind.WEEKLY
        yield Letter(user, kind, choices.week_begins(on), subject, text)


def _day_before(user: User, choices: MailChoices, on: date) -> Iterator[Letter]:
    morrow = on + timedelta(days=1)
    dates = _dates(user, choices, on).filter(due_on=morrow)
    part = _part(dates, f"date falls on {_day(morrow)}", f"dates fall on {_day(morrow)}")
    rounds = _rounds(user, choices, on, {"walk_on": morrow})
    if part.total or rounds:
        words = [counted(len(rounds), "round", "rounds")] if rounds else []
        if part.total:
            words.append(counted(part.total, "look or repaint", "looks and repaints"))
        subject = f"{capital(', '.join(words))} on {_day(morrow)}"
        text = "\n".join(_text(rounds, [part] if part.total else [], on))
        yield Letter(user, SentMail.Kind.DAY_BEFORE, morrow, subject, text)


def _text(rounds: Sequence[Round], parts: Sequence[_Part], on: date) -> Iterator[str]:
    if rounds:
        yield f"{capital(counted(len(rounds), 'round', 'rounds'))} to walk:"
        yield ""
    for each in rounds:
        yield from _round_lines(each, on)
    for part in parts:
        yield f"{capital(counted(part.total, part.one, part.many))}:"
        yield ""
        for due in part.dates:
            yield from _lines(due, on)
        if left := part.total - len(part.dates):
            yield f"And {left:,} more: {whole_address(reverse('inspection-list'))}"
            yield ""
    yield "-- "
    yield f"Other mails, or none: {whole_address(reverse('mail-choices'))}"
    yield f"The same in your calendar: {whole_address(reverse('calendar-feeds'))}"
    yield ""


def _round_lines(round: Round, on: date) -> Iterator[str]:
    late = f", {in_days((on - round.walk_on).days)} past its day" if round.walk_on < on else ""
    yield _line(f"{_day(round.walk_on)}{late}: {round.name}, {looks_left(round)} to do")
    yield _line(f"  At {where_of(round)}")
    if round.person is not None:
        yield _line(f"  For {round.person.get_full_name() or round.person.get_username()}")
    yield f"  {whole_address(round.get_absolute_url())}"
    yield ""


def _lines(due: DueDate, on: date) -> Iterator[str]:
    member, elevation = due.member, due.member.elevation
    late = f", overdue by {in_days(due.days_late(on))}" if due.is_overdue(on) else ""
    yield _line(f"{_day(due.due_on)}{late}: {due.get_kind_display().lower()}, {member.mark}")
    place = f"  {member.get_kind_display()} of {member.building.name}, "
    yield _line(place + member.building.property.name)
    if elevation is not None:
        reached = f"access: {elevation.get_access_display().lower()}"
        yield _line(f"  {elevation.name} elevation; {reached}")
    if due.person is not None:
        yield _line(f"  For {due.person.get_full_name() or due.person.get_username()}")
    yield f"  {whole_address(due.get_absolute_url())}"
    yield ""


def _line(text: str) -> str:
    """One line, whatever somebody typed for a name."""
    return text.translate(_BREAKS)


def _day(day: date) -> str:
    return f"{day:%A}, {day:%-d %B %Y}"

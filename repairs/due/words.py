"""Sentences about the schedule: what is overdue, what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib.humanize.templatetags.humanize import apnumber
from django.db.models import Count, Min, Q

from repairs.models import DueDate
from repairs.models.due_dates import DueDateQuerySet, DueKind

# A date further ahead than this is only called later.
SOON_DAYS = 90


@dataclass(frozen=True)
class Standing:
    """How a set of due dates stands on a day."""

    overdue: int
    overdue_repaints: int
    oldest: date | None
    properties: int
    property_name: str
    coming: int
    next_on: date | None


def standing(dates: DueDateQuerySet, on: date) -> Standing:
    """One query over what is outstanding."""
    late = Q(due_on__lt=on)
    place = "member__building__property"
    found = dates.order_by().aggregate(
        overdue=Count("pk", filter=late),
        overdue_repaints=Count("pk", filter=late & Q(kind=DueKind.REPAINT)),
        oldest=Min("due_on", filter=late),
        properties=Count(place, filter=late, distinct=True),
        property_name=Min(f"{place}__name", filter=late),
        coming=Count("pk", filter=~late),
        next_on=Min("due_on", filter=~late),
    )
    return Standing(**{**found, "property_name": found["property_name"] or ""})


def counted(number: int, one: str, many: str) -> str:
    """'four looks', 'one look', '12 looks'."""
    return f"{apnumber(number) if number else 'no'} {one if number == 1 else many}"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def in_days(number: int) -> str:
    """'14 days', for a table, where figures stand below each other."""
    return f"{number:,} day{'' if number == 1 else 's'}"


def what_is_overdue(found: Standing) -> str:
    if not found.overdue_repaints:
        return counted(found.overdue, "look", "looks")
    if found.overdue_repaints == found.overdue:
        return counted(found.overdue, "repaint", "repaints")
    return counted(found.overdue, "date", "looks and repaints")


def overdue_words(found: Standing) -> str:
    """'Four looks are overdue at Mill Row; the oldest since 3 May 2026.' Empty if none are."""
    if not found.overdue or found.oldest is None:
        return ""
    at = found.property_name
    if found.properties > 1:
        at = counted(found.properties, "property", "properties")
    verb = "is" if found.overdue == 1 else "are"
    since = "since" if found.overdue == 1 else "the oldest since"
    joint = "," if found.overdue == 1 else ";"
    number = capital(what_is_overdue(found))
    return f"{number} {verb} overdue at {at}{joint} {since} {found.oldest:%-d %B %Y}."


def next_words(found: Standing) -> str:
    if found.next_on is None:
        return "Nothing more is planned."
    return f"The next falls on {found.next_on:%-d %B %Y}."


def standing_words(found: Standing) -> str:
    overdue = overdue_words(found) or "Nothing is overdue."
    return f"{overdue} {next_words(found)}"


def state_of(due: DueDate, on: date) -> tuple[str, str]:
    """A due date's state: its sign, and its words."""
    if due.done_on is not None:
        late = due.days_late(on)
        return "done", f"Done, {in_days(late)} late" if late else "Done"
    if due.cancelled_on is not None:
        return "cancelled", "Called off"
    if due.is_overdue(on):
        return "overdue", f"Overdue, {in_days(due.days_late(on))}"
    days = (due.due_on - on).days
    if days == 0:
        return "due", "Due today"
    sign = "due" if days <= due.window_days else "planned"
    return (sign, f"Due in {in_days(days)}") if days <= SOON_DAYS else ("planned", "Later")


def due_words(due: DueDate, on: date) -> str:
    """The sentence at the head of a date's page."""
    day, days = f"{due.due_on:%-d %B %Y}", (due.due_on - on).days
    if due.done_on is not None:
        late = due.days_late(on)
        return f"Due on {day}, done on {due.done_on:%-d %B %Y}" + (
            f", {in_days(late)} late." if late else "."
        )
    if due.cancelled_on is not None:
        return f"It was due on {day} and is called off: {due.cancelled_reason}"
    if days < 0:
        return f"Overdue by {in_days(-days)}: it was due on {day}."
    return f"Due on {day}, in {in_days(days)}." if days else f"Due today, {day}."


def between(first: date, last: date) -> str:
    """'between 1 and 15 April 2027'; 'on 15 April 2027' where it is one day."""
    if first >= last:
        return f"on {last:%-d %B %Y}"
    start = f"{first:%-d}"
    if first.year != last.year:
        start = f"{first:%-d %B %Y}"
    elif first.month != last.month:
        start = f"{first:%-d %B}"
    return f"between {start} and {last:%-d %B %Y}"


def window_words(due: DueDate) -> str:
    """The days in which it is to be done; after the last of them it is overdue."""
    return between(due.opens_on(), due.due_on)


def is_look(due: DueDate) -> bool:
    return due.kind != DueKind.REPAINT

"""What one calendar address shows on the day it is read: looks and repaints, as entries, and on
a person's own the rounds that they walk.

Five queries, however many entries: the address with its person, what the person may do (two),
what is outstanding, and what was done or called off within a year; two more for rounds."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from hmac import compare_digest

from django.contrib.auth.models import User
from django.db.models import Count, Max, OuterRef, Q, QuerySet, Subquery
from django.http import Http404
from django.utils.timezone import get_default_timezone

from properties.access import properties_for
from properties.models.owners import PropertyQuerySet
from repairs.calendars.icalendar_file import Entry, calendar_file
from repairs.calendars.round_entries import round_entries
from repairs.due.words import window_words
from repairs.models import CalendarFeed, DueDate
from repairs.models.due_dates import DueDateQuerySet

# So that a calendar that was switched off for months still learns what was called off.
KEPT = timedelta(days=366)
# More than any calendar is read with; what lies furthest ahead is left out, and it is said.
MOST_ENTRIES = 5000
Link = Callable[[str], str]


def find_feed(token: str) -> CalendarFeed:
    """The address with this token, if its person may still read what it shows. Comparing once
    more in constant time keeps out a database that takes one letter for another."""
    feeds = CalendarFeed.objects.select_related("user__person", "property")
    feed = feeds.filter(token=token, user__is_active=True).first()
    if feed is None or not compare_digest(feed.token, token):
        raise Http404
    if not feed.user.has_perm("repairs.view_duedate") or not _sees_its_property(feed):
        raise Http404
    return feed


def _sees_its_property(feed: CalendarFeed) -> bool:
    if feed.property is None or feed.user.has_perm("properties.view_every_property"):
        return True
    return properties_for(feed.user).filter(pk=feed.property.pk).exists()


def feed_file(feed: CalendarFeed, on: date, link: Link) -> bytes:
    """The iCalendar file; `link` makes the address of a page whole."""
    entries, left_out = entries_of(feed, on, link)
    words = _words(feed, left_out)
    zone = feed.property.zone if feed.property else get_default_timezone()
    return calendar_file(f"Makegood: {feed}", words, entries, zone)


def entries_of(feed: CalendarFeed, on: date, link: Link) -> tuple[list[Entry], bool]:
    """Its entries, and whether some are left out for being too many."""
    rounds = _rounds(feed, on, link)
    dates, left_out = _shown(feed, on, MOST_ENTRIES - len(rounds))
    return rounds + [_entry(due, feed, link) for due in dates], left_out


def _rounds(feed: CalendarFeed, on: date, link: Link) -> list[Entry]:
    if feed.shows != CalendarFeed.Shows.OWN:
        return []
    return round_entries(feed, on, KEPT, MOST_ENTRIES, link)


def _words(feed: CalendarFeed, left_out: bool) -> str:
    words = f"When to look again or repaint. Read by {_name(feed.user)}."
    if left_out:
        words += f" Only the first {MOST_ENTRIES:,} are shown; take the address of one property."
    return words


def _places(feed: CalendarFeed) -> PropertyQuerySet:
    places = properties_for(feed.user)
    return places.filter(pk=feed.property.pk) if feed.property else places


def _shown(feed: CalendarFeed, on: date, most: int) -> tuple[list[DueDate], bool]:
    """What is outstanding, the earliest first, then what was closed, so many at most; and
    whether some is left out. Nothing of a property that is no longer looked after."""
    dates = DueDate.objects.within(_places(feed)).with_place()
    if feed.shows == CalendarFeed.Shows.OWN:
        dates = dates.filter(person=feed.user)
    found = list(_with_revisions(dates.reminding(on))[: most + 1])
    left_out = len(found) > most
    found = found[:most]
    closed = _with_revisions(_closed(dates, on)).order_by("-due_on", "pk")
    return found + list(closed[: most - len(found)]), left_out


def _closed(dates: DueDateQuerySet, on: date) -> DueDateQuerySet:
    given_up = "member__building__property__given_up_on"
    return dates.filter(
        Q(done_on__gt=on - KEPT) | Q(cancelled_on__gt=on - KEPT),
        Q(**{f"{given_up}__isnull": True}) | Q(**{f"{given_up}__gt": on}),
    )


def _with_revisions(dates: QuerySet[DueDate]) -> QuerySet[DueDate]:
    """Adds how often each was changed, and when last, from the history of its row."""
    kept = DueDate.history.model.objects.filter(id=OuterRef("pk")).order_by().values("id")
    return dates.annotate(
        revisions=Subquery(kept.annotate(count=Count("pk")).values("count")),
        changed_at=Subquery(kept.annotate(last=Max("history_date")).values("last")),
    )


def _entry(due: DueDate, feed: CalendarFeed, link: Link) -> Entry:
    member = due.member
    revisions: int = getattr(due, "revisions", None) or 1
    changed_at: datetime | None = getattr(due, "changed_at", None)
    return Entry(
        uid=str(uuid.uuid5(feed.key, f"due {due.pk}")),
        sequence=revisions - 1,
        # A row written without its history has no day of its own.
        changed_at=changed_at or feed.made_at,
        first_on=due.opens_on() if feed.over_window else due.due_on,
        last_on=due.due_on,
        summary=f"{_state(due)}{due.get_kind_display()}: {member.mark}, {member.building.name}",
        description="\n".join(_lines(due)),
        place=_place(due),
        kind=due.get_kind_display(),
        url=link(due.get_absolute_url()),
        cancelled=due.cancelled_on is not None,
    )


def _state(due: DueDate) -> str:
    if due.cancelled_on is not None:
        return "Called off: "
    return "Done: " if due.done_on is not None else ""


def _lines(due: DueDate) -> Iterator[str]:
    member, elevation = due.member, due.member.elevation
    if due.cancelled_on is not None:
        yield f"Called off on {due.cancelled_on:%-d %B %Y}: {due.cancelled_reason}"
    if due.done_on is not None:
        yield f"Done on {due.done_on:%-d %B %Y}"
    yield f"To be done {window_words(due)}"
    position = f", {member.position}" if member.position else ""
    yield f"Member: {member.mark}, {member.get_kind_display().lower()}{position}"
    if elevation is not None:
        yield f"Elevation: {elevation.name}; access: {elevation.get_access_display().lower()}"
    # Where it is nobody's by itself, somebody may walk it on a round: that is told there.
    if due.person is not None:
        yield f"Who is to look: {_name(due.person)}"
    yield f"Set by: {due.set_because}"


def _place(due: DueDate) -> str:
    building = due.member.building
    address = ", ".join(line.strip() for line in building.property.address.splitlines())
    return f"{building.name}, {building.property.name}, {address}"


def _name(user: User) -> str:
    return user.get_full_name() or user.get_username()

"""Entries written as an iCalendar file (RFC 5545), through the icalendar package.

Records and dates in, bytes out. An entry lasts whole days, so it falls on the same day whatever
zone it is read in, and a change of clocks cannot move it. Lines are folded at 75 octets and end
in CRLF (RFC 5545, 3.1); the package sees to that, and to the escaping."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from icalendar import Event

PRODUCER = "-//Makegood//Looks and repaints//EN"
# How often a program may usefully ask again.
READ_AGAIN = timedelta(hours=6)
# TEXT holds no control character but a tab (RFC 5545, 3.3.11); the other marks here end a line
# for many readers, though not for the standard.
_NO_TEXT = dict.fromkeys((*range(9), 11, 12, *range(14, 32), *range(127, 160)), " ")
_NO_TEXT |= {0x2028: " ", 0x2029: " "}


@dataclass(frozen=True)
class Entry:
    """One look or repaint. `last_on` is the last day of the entry itself."""

    uid: str
    sequence: int
    changed_at: datetime
    first_on: date
    last_on: date
    summary: str
    description: str
    place: str
    kind: str
    url: str
    cancelled: bool


def plain(text: str) -> str:
    """A text without what no calendar may hold; a line of its own stays one."""
    return text.replace("\r\n", "\n").replace("\r", "\n").translate(_NO_TEXT)


def calendar_file(name: str, words: str, entries: Iterable[Entry], zone: ZoneInfo) -> bytes:
    """The file, with its entries in the order given.

    A calendar holds at least one component (RFC 5545, 3.6), so an empty one tells the zone."""
    from icalendar import Calendar, Timezone, vDuration

    calendar = Calendar()
    calendar.add("prodid", PRODUCER)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    for key, text in (("name", name), ("description", words)):
        # Those of RFC 7986, and what programs read that were written before it.
        calendar.add(key, plain(text))
        calendar.add(f"x-wr-cal{key[:4]}", plain(text))
    calendar.add("refresh-interval", vDuration(READ_AGAIN), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", vDuration(READ_AGAIN))
    for entry in entries:
        calendar.add_component(_event(entry))
    if not calendar.subcomponents:
        calendar.add_component(Timezone.from_tzinfo(zone))
    content: bytes = calendar.to_ical()
    return content


def _event(entry: Entry) -> Event:
    from icalendar import Event

    event = Event()
    changed_at = entry.changed_at.astimezone(UTC).replace(microsecond=0)
    event.add("uid", entry.uid)
    event.add("sequence", entry.sequence)
    # Without METHOD both tell of the last change (RFC 5545, 3.8.7.2).
    event.add("dtstamp", changed_at)
    event.add("last-modified", changed_at)
    event.add("dtstart", entry.first_on)
    if entry.last_on < date.max:
        event.add("dtend", entry.last_on + timedelta(days=1))
    event.add("summary", plain(entry.summary))
    event.add("description", plain(entry.description))
    event.add("location", plain(entry.place))
    event.add("categories", [plain(entry.kind)])
    event.add("url", entry.url)
    event.add("status", "CANCELLED" if entry.cancelled else "CONFIRMED")
    # A look takes no hour of the day, so nobody is busy for it.
    event.add("transp", "TRANSPARENT")
    return event

"""Dates and times of the log page: typed in the property's own time, kept as instants."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError

EARLIEST = date(1950, 1, 1)
# Work of the evening runs on past midnight; a mix "before" the stage began is then of the next day.
EVENING, MORNING = time(17, 0), time(9, 0)

AGAIN_CHOICES = [
    ("", "Not said"),
    ("first", "The first time, before the clocks went back"),
    ("second", "The second time, after the clocks went back"),
]


def read_day(text: str) -> date | None:
    """A day as a browser sends it; None for what is none."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def checked_day(day: date, today: date, what: str = "That day") -> date:
    """A day on which work can have been done and be remembered."""
    if day > today:
        raise ValidationError(
            f"{what} is still to come ({day:%-d %B %Y}). Type the day on which it was done.",
            code="still-to-come",
        )
    if day < EARLIEST:
        raise ValidationError(
            f"{day.year} is too long ago for a repair with a record of its batches. "
            "Check the year.",
            code="too-long-ago",
        )
    return day


def instant(day: date, at: time, zone: ZoneInfo, again: str = "") -> datetime:
    """The instant of a local time. A time that the clocks skip is refused; one that they show
    twice needs `again` ("first" or "second")."""
    local = datetime.combine(day, at.replace(second=0, microsecond=0), tzinfo=zone)
    first, second = local.replace(fold=0).astimezone(UTC), local.replace(fold=1).astimezone(UTC)
    if first == second:
        return first
    if first.astimezone(zone).replace(tzinfo=None) != local.replace(tzinfo=None):
        raise ValidationError(
            f"There was no {at:%H:%M} on {day:%-d %B %Y}: the clocks went forward over it. "
            "Type the time that the clock showed.",
            code="skipped-time",
        )
    if again not in ("first", "second"):
        raise ValidationError(
            f"The clocks went back on {day:%-d %B %Y}, so {at:%H:%M} came twice. "
            "Say whether it was the first time or the second.",
            code="which-time",
        )
    return first if again == "first" else second


def day_of(at: time, day: date, since: time | None) -> date:
    """The day of a time typed alone: that of the stage, or the next if it ran past midnight."""
    if since is not None and since >= EVENING and at <= MORNING:
        return day + timedelta(days=1)
    return day

"""Twelve months as weeks with counts, for the calendar of looks and repaints.

Numbers and dates in, frozen records out; weeks start on Monday."""

from __future__ import annotations

import calendar
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

MONTHS = 12
_WEEKS = calendar.Calendar(firstweekday=calendar.MONDAY)


@dataclass(frozen=True)
class CalendarDay:
    """A square of the calendar; outside its month it is empty and counts nothing."""

    day: date
    in_month: bool
    count: int
    is_today: bool


@dataclass(frozen=True)
class CalendarMonth:
    first: date
    last: date
    weeks: tuple[tuple[CalendarDay, ...], ...]
    total: int

    @property
    def busy_days(self) -> tuple[CalendarDay, ...]:
        """The days on which something falls, for a list in place of the squares."""
        return tuple(day for week in self.weeks for day in week if day.count)


def month_start(day: date) -> date:
    return day.replace(day=1)


def months_later(first: date, months: int) -> date:
    """The first of the month so many months later (or earlier, if negative)."""
    at = first.year * 12 + first.month - 1 + months
    return date(at // 12, at % 12 + 1, 1)


def last_day(first: date) -> date:
    return first.replace(day=calendar.monthrange(first.year, first.month)[1])


def twelve_months(
    first: date, counts: Mapping[date, int], today: date
) -> tuple[CalendarMonth, ...]:
    """The twelve months from the month of `first`, each with what falls on its days."""
    starts = (months_later(month_start(first), step) for step in range(MONTHS))
    return tuple(_month(start, counts, today) for start in starts)


def _month(start: date, counts: Mapping[date, int], today: date) -> CalendarMonth:
    weeks = tuple(_weeks(start, counts, today))
    total = sum(day.count for week in weeks for day in week)
    return CalendarMonth(start, last_day(start), weeks, total)


def _weeks(
    start: date, counts: Mapping[date, int], today: date
) -> Iterator[tuple[CalendarDay, ...]]:
    for week in _WEEKS.monthdatescalendar(start.year, start.month):
        yield tuple(
            CalendarDay(
                day=day,
                in_month=day.month == start.month,
                count=counts.get(day, 0) if day.month == start.month else 0,
                is_today=day == today,
            )
            for day in week
        )

"""Days of the year on which a look returns, such as 15 April and 15 October.

A day is written month-day, '04-15'. 29 February falls on the 28th of a year without one. The
recurrences are dateutil's; a day has no clock, so it is a day of the property's own calendar."""

from __future__ import annotations

import calendar
import itertools
import re
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from dateutil.rrule import YEARLY, rrule, rruleset

MOST_DAYS = 12
CLOSEST_DAYS = 28
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
# A leap year, in which every day that ever comes has its place.
_LEAP = 2024
_LEAP_DAY = "02-29"
_LOOKS_LIKE = "Type days such as 15 April, 15 October."


def days_from(text: str) -> list[str]:
    """The days that a person typed, in the order of the year: '15 April, 15 Oct' or '04-15'.

    Raises ValueError, with a sentence that says what to do, for what is no day, for a day that
    never comes, for one named twice, for more than 12 days, and for two less than 28 days apart."""
    parts = [part.strip() for part in re.split(r"[,;\n]|\band\b", text) if part.strip()]
    if len(parts) > MOST_DAYS:
        raise ValueError(
            f"At most {MOST_DAYS} days a year; a look more often than monthly is no rule for dates."
        )
    days = sorted(_day(part) for part in parts)
    for day, following in itertools.pairwise(days):
        if day == following:
            raise ValueError(f"{in_words([day])} stands there twice; name it once.")
    _refuse_close(days)
    return days


def _day(text: str) -> str:
    month, day = _numbers(text)
    if not 1 <= month <= 12:
        raise ValueError(f"“{text[:30]}” has no such month. {_LOOKS_LIKE}")
    if not 1 <= day <= calendar.monthrange(_LEAP, month)[1]:
        last = calendar.monthrange(_LEAP, month)[1]
        raise ValueError(
            f"{day} {MONTHS[month - 1]} never comes; {MONTHS[month - 1]} ends on its {last}th."
            if last != 31
            else f"{day} {MONTHS[month - 1]} never comes; {MONTHS[month - 1]} has 31 days."
        )
    return f"{month:02}-{day:02}"


def _numbers(text: str) -> tuple[int, int]:
    """Month and day as typed; the month 0 where its name is not known."""
    if found := re.fullmatch(r"([0-9]{1,2})-([0-9]{1,2})", text):
        return int(found[1]), int(found[2])
    first = re.fullmatch(r"([0-9]{1,4})\.?\s+([A-Za-z]+)\.?", text)
    last = re.fullmatch(r"([A-Za-z]+)\.?\s+([0-9]{1,4})", text)
    if first:
        return _month(first[2]), int(first[1])
    if last:
        return _month(last[1]), int(last[2])
    raise ValueError(f"“{text[:30]}” is no day of the year. {_LOOKS_LIKE}")


def _month(name: str) -> int:
    if len(name) < 3:
        return 0
    begins = (at for at, month in enumerate(MONTHS, 1) if month.lower().startswith(name.lower()))
    return next(begins, 0)


def _refuse_close(days: Sequence[str]) -> None:
    for one, other, gap in _gaps(days):
        if gap < CLOSEST_DAYS:
            raise ValueError(
                f"{in_words([one, other])} lie less than {CLOSEST_DAYS} days apart; "
                "leave one out, or let the window of days be wider."
            )


def shortest_gap_days(days: Sequence[str]) -> int:
    """Days between the two that lie nearest to each other, in a year of 365; ValueError for no
    day at all."""
    return min(gap for _, _, gap in _gaps(days))


def _gaps(days: Sequence[str]) -> list[tuple[str, str, int]]:
    """Each day with the one after it, round the year, and how far it is to there."""
    found = [_in_year(day, _LEAP + 1) for day in days]
    found += [_in_year(day, _LEAP + 2) for day in days[:1]]
    names = [*days, *days[:1]]
    return [(names[at], names[at + 1], (found[at + 1] - found[at]).days) for at in range(len(days))]


def _in_year(day: str, year: int) -> date:
    month, number = _split(day)
    return date(year, month, min(number, calendar.monthrange(year, month)[1]))


def _split(day: str) -> tuple[int, int]:
    month, number = day.split("-")
    return int(month), int(number)


def as_typed(days: Sequence[str]) -> str:
    """'15 April, 15 October', as `days_from` reads them."""
    return ", ".join(f"{number} {MONTHS[month - 1]}" for month, number in map(_split, days))


def in_words(days: Sequence[str]) -> str:
    """'15 April and 15 October'; of 29 February it is said where it falls in other years."""
    words = [_one_in_words(day) for day in days]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _one_in_words(day: str) -> str:
    month, number = _split(day)
    words = f"{number} {MONTHS[month - 1]}"
    return f"{words} (the 28th in other years)" if day == _LEAP_DAY else words


def occurrences(days: Sequence[str], after: date) -> Iterator[date]:
    """Every time that one of the days comes round after a day, in order, to the year 9999."""
    start = after + timedelta(days=1)
    found = rruleset()
    for day in days:
        month, number = _split(day)
        # Counted from the end, the last of February is the 29th wherever there is one.
        on = -1 if day == _LEAP_DAY else number
        found.rrule(rrule(YEARLY, dtstart=start, bymonth=month, bymonthday=on))
    return (each.date() for each in found)

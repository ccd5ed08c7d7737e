"""Seasons and frost: which days of a year a rule allows, and where a day is moved that it does not.

Months and days in, days and words out. Seasons are the meteorological ones, whole months, turned
by half a year south of the equator: common practice. Where frost begins is common practice too."""

from __future__ import annotations

import calendar
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

# Months of each season north of the equator; 'spring' is March to May.
SEASONS = {"spring": (3, 4, 5), "summer": (6, 7, 8), "autumn": (9, 10, 11), "winter": (12, 1, 2)}
ALL_MONTHS = frozenset(range(1, 13))
# A month whose mean is at or below this counts as one with frost: common practice, no source.
FROST_AT_C = 2.0


@dataclass(frozen=True)
class DayRules:
    """What a rule allows at one place: seasons by name, none for all; months (1 to 12) with frost
    to be left out; `south` of the equator. The window of so many days before the day lies in it
    too. `presumed` says what of the place was not known."""

    seasons: tuple[str, ...] = ()
    frost_months: frozenset[int] = frozenset()
    south: bool = False
    window_days: int = 0
    presumed: str = ""

    def months(self) -> frozenset[int]:
        """The months that are allowed; empty where season and frost leave none."""
        wanted = frozenset(
            month for season in self.seasons for month in months_of(season, self.south)
        )
        return (wanted or ALL_MONTHS) - self.frost_months


ANY_DAY = DayRules()


@dataclass(frozen=True)
class Moved:
    """A day that is allowed, and in words from where it was moved and why; empty if it stood."""

    day: date
    words: str = ""


def months_of(season: str, south: bool = False) -> tuple[int, ...]:
    """The three months of a season, 1 to 12; KeyError for a name that is none of the four."""
    months = SEASONS[season]
    return tuple((month + 5) % 12 + 1 for month in months) if south else months


def frost_months(mean_c: Sequence[float] | None, south: bool) -> frozenset[int]:
    """The months with frost, from twelve monthly means in °C, January first.

    Without them the winter is taken: December to February, south of the equator June to August.
    Other than twelve means raise ValueError. Common practice, no source."""
    if mean_c is None:
        return frozenset(months_of("winter", south))
    if len(mean_c) != 12:
        raise ValueError("a year has twelve monthly means")
    return frozenset(month for month, mean in enumerate(mean_c, 1) if mean <= FROST_AT_C)


def shortest_run_days(months: frozenset[int]) -> int:
    """Days of the shortest stretch of allowed months in a year of 365 days; 365 for all, 0 for
    none."""
    return min((sum(_days(2025, at) for at in run) for run in _runs(months)), default=0)


def moved_day(day: date, not_before: date, rules: DayRules, in_time: bool = False) -> Moved:
    """The allowed day nearest to a day and later than `not_before`; of two equally near the
    earlier. `in_time` takes one no later than the day itself, where there is one. Where nothing
    is allowed the day stands, and the words say so."""
    if not rules.months():
        return Moved(day, f"No day here is {_asked(rules)}: the day stands.")
    if rules.months() == ALL_MONTHS:
        return Moved(max(day, not_before + timedelta(days=1)))
    near = list(_nearest_in_each(day, not_before, rules))
    if in_time:
        near = [each for each in near if each <= day] or near
    found = min(near, key=lambda each: (abs(each - day), each))
    if found == day:
        return Moved(day)
    words = f"Moved from {day:%-d %B %Y}, to be {_asked(rules)}."
    return Moved(found, f"{words} {rules.presumed}".rstrip())


def _nearest_in_each(day: date, not_before: date, rules: DayRules) -> Iterator[date]:
    """The day nearest to `day` in each stretch of allowed months around it."""
    first, last = min(day, not_before).year - 1, max(day, not_before).year + 1
    for year in range(max(first, date.min.year), min(last, date.max.year - 1) + 1):
        for run in _runs(rules.months()):
            begins, ends = _stretch(run, year)
            opens = min(begins + timedelta(days=rules.window_days), ends)
            earliest = max(opens, not_before + timedelta(days=1))
            if earliest <= ends:
                yield min(max(day, earliest), ends)


def _stretch(run: tuple[int, ...], year: int) -> tuple[date, date]:
    """First and last day of a run of months that begins in a year and may end in the next."""
    ends_in = year + 1 if run[-1] < run[0] else year
    return date(year, run[0], 1), date(ends_in, run[-1], _days(ends_in, run[-1]))


def _runs(months: frozenset[int]) -> list[tuple[int, ...]]:
    """The stretches of months that follow each other, also over the turn of the year."""
    if months == ALL_MONTHS:
        return [tuple(range(1, 13))]
    starts = sorted(month for month in months if (month - 2) % 12 + 1 not in months)
    return [_run_from(start, months) for start in starts]


def _run_from(start: int, months: frozenset[int]) -> tuple[int, ...]:
    run = [start]
    while (following := run[-1] % 12 + 1) in months:
        run.append(following)
    return tuple(run)


def _days(year: int, month: int) -> int:
    return calendar.monthrange(year, month)[1]


def _asked(rules: DayRules) -> str:
    """'in spring or autumn and out of frost'."""
    asked = [f"in {either(rules.seasons)}"] if rules.seasons else []
    return " and ".join([*asked, "out of frost"] if rules.frost_months else asked)


def either(names: Sequence[str]) -> str:
    """'spring, summer or autumn'."""
    return " or ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


@dataclass(frozen=True)
class PlaceYear:
    """What the year of one place is like: its latitude in degrees, south negative, and its twelve
    monthly means in °C, January first; None where not recorded."""

    latitude: float | None = None
    mean_c: tuple[float, ...] | None = None

    @property
    def south(self) -> bool:
        """Whether the seasons are turned; north of the equator is taken where nothing is known."""
        return self.latitude is not None and self.latitude < 0

    def days(self, seasons: Sequence[str], frost_free: bool, window_days: int) -> DayRules:
        """What a rule with those seasons, and out of frost or not, allows here."""
        if not seasons and not frost_free:
            return ANY_DAY
        presumed = []
        if frost_free and self.mean_c is None:
            taken = "June to August" if self.south else "December to February"
            presumed.append(f"The months here are not recorded: frost is taken {taken}.")
        if self.latitude is None and (seasons or self.mean_c is None):
            presumed.append("No place is recorded: north of the equator is taken.")
        frost = frost_months(self.mean_c, self.south) if frost_free else frozenset()
        return DayRules(tuple(seasons), frost, self.south, window_days, " ".join(presumed))

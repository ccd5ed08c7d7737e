"""Over how many years a cost is spread: the recorded life, from the first cost to today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from django.db.models import Max, Min

from config.figures import Formula
from materials.money import round_minor
from repairs.costs.period import Period
from repairs.models.costs import CostLineQuerySet

DAY = timedelta(days=1)
A_YEAR = Formula(
    words="The cost divided by the years of the recorded life: from the first cost line that is "
    "told, or the first day asked for if that is later, to today, or the last day asked for.",
    symbols="cost ÷ years",
    source="arithmetic; what counts as recorded life is common practice, no source",
    holds="for a year or more",
)


@dataclass(frozen=True)
class RecordedLife:
    """Both days included."""

    begins: date
    ends: date

    @property
    def years(self) -> Fraction:
        return years_between(self.begins, self.ends)

    def a_year(self, minor: int | None) -> int | None:
        """The average of a year; None where less than a year is recorded, or no sum is known."""
        if minor is None or self.years < 1:
            return None
        return round_minor(minor / self.years)

    def in_words(self) -> str:
        return f"{self.begins:%-d %B %Y} to {self.ends:%-d %B %Y}"


def recorded_life(
    ever: CostLineQuerySet, period: Period, on: date, until: date | None = None
) -> RecordedLife | None:
    """None where no line is told. `ever` are the lines of any day; `until` is the day after
    which nothing more is spent, such as that of a demolition."""
    first = ever.aggregate(day=Min("counts_on"))["day"]
    last = period.lines(ever).aggregate(day=Max("counts_on"))["day"]
    if first is None or last is None:
        return None
    begins = max(first, period.first) if period.first else first
    known = [day for day in (period.last, until, on) if day is not None]
    # A line may count on a day to come, and it is in the sum already.
    return RecordedLife(begins, max(min(known), last))


def years_between(first: date, last: date) -> Fraction:
    """Whole years by the calendar and the rest as a share of its year; both days included, so
    that 1 April to 31 March is one year. Zero or less where `last` is before `first`."""
    end = last + DAY
    whole = end.year - first.year
    if _anniversary(first, whole) > end:
        whole -= 1
    begun = _anniversary(first, whole)
    length = _anniversary(first, whole + 1) - begun
    return whole + Fraction((end - begun).days, length.days)


def _anniversary(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February
        return date(day.year + years, 3, 1)

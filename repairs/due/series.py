"""The series of looks that one rule sets: which day each falls on, and which comes next.

Dates in, dates out. The anchor way keeps to the days counted from the first one, however late a
look was, so that a look in spring stays in spring; the other way counts from the day done. Days
here are not moved yet into a season or out of frost: the series is counted on from its own days,
so that it does not drift."""

from __future__ import annotations

import itertools
from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from repairs.due.fixed_days import occurrences
from repairs.due.intervals import add_months


@dataclass(frozen=True)
class NextStep:
    """A day and where it stands in its series; `moved` says in words from where it was moved."""

    step: int
    due_on: date
    counted_from: date
    moved: str = ""


class Series(ABC):
    """What comes round: by steps of months or on fixed days of the year."""

    from_done: bool

    @abstractmethod
    def gap_before(self, step: int) -> int:
        """Months between a step and the one before it."""

    @abstractmethod
    def days(self, counted_from: date) -> Iterator[NextStep]: ...

    @abstractmethod
    def day_after(self, done_on: date, step: int) -> date:
        """The day of a step if it is counted from when the one before it was done."""

    @abstractmethod
    def counted_back(self, day: date) -> date:
        """The day to count from so that the first step falls on a day, or last fell before it."""

    def day(self, counted_from: date, step: int) -> date:
        return next(itertools.islice(self.days(counted_from), step, None)).due_on

    def first_after(self, counted_from: date, limit: date) -> NextStep:
        return next(found for found in self.days(counted_from) if found.due_on > limit)


@dataclass(frozen=True)
class Steps(Series):
    """`first_months` are steps from the day of the work, such as 1 and 6; after them the look
    returns at every multiple of `then_months` that lies beyond: 12, 24, 36."""

    first_months: tuple[int, ...]
    then_months: int
    from_done: bool = False

    def months_at(self, step: int) -> int:
        if step < len(self.first_months):
            return self.first_months[step]
        last = self.first_months[-1] if self.first_months else 0
        beyond = step - len(self.first_months) + 1
        return (last // self.then_months + beyond) * self.then_months

    def gap_before(self, step: int) -> int:
        return self.months_at(step) - (self.months_at(step - 1) if step > 0 else 0)

    def day(self, counted_from: date, step: int) -> date:
        return add_months(counted_from, self.months_at(step))

    def days(self, counted_from: date) -> Iterator[NextStep]:
        for step in itertools.count():
            yield NextStep(step, self.day(counted_from, step), counted_from)

    def day_after(self, done_on: date, step: int) -> date:
        return add_months(done_on, self.gap_before(step))

    def counted_back(self, day: date) -> date:
        return day if self.first_months else add_months(day, -self.then_months)


@dataclass(frozen=True)
class FixedDays(Series):
    """The same days of every year, written month-day."""

    month_days: tuple[str, ...]
    from_done: bool = False

    def gap_before(self, step: int) -> int:
        return max(12 // len(self.month_days), 1)

    def days(self, counted_from: date) -> Iterator[NextStep]:
        for step, day in enumerate(occurrences(self.month_days, counted_from)):
            yield NextStep(step, day, counted_from)

    def day_after(self, done_on: date, step: int) -> date:
        return next(occurrences(self.month_days, done_on))

    def counted_back(self, day: date) -> date:
        known = occurrences(self.month_days, day - timedelta(days=400))
        last = max(itertools.takewhile(lambda each: each <= day, known))
        return last - timedelta(days=1)


@dataclass(frozen=True)
class Standing:
    """Where an answered date stood in its series."""

    counted_from: date
    due_on: date
    step: int
    window_days: int

    def followed_by(self, found: NextStep) -> Standing:
        return Standing(found.counted_from, found.due_on, found.step, self.window_days)


def next_after(series: Series, answered: Standing, looked_on: date) -> NextStep:
    """The next date after a look. A look far ahead of its day, nearer to the step before, leaves
    that day standing; a late look passes over the days that it has outrun."""
    if series.from_done:
        step = answered.step + 1
        return NextStep(step, series.day_after(looked_on, step), looked_on)
    limit = looked_on + timedelta(days=answered.window_days)
    if not _far_ahead(series, answered, looked_on):
        limit = max(limit, answered.due_on, _own_day(series, answered))
    return series.first_after(answered.counted_from, limit)


def half_way_after(series: Series, answered: Standing, looked_on: date) -> NextStep:
    """After 'watch': half the interval that would follow, but never later than the usual day.

    Common practice, no source. The step stays the one answered, so that a sound look then
    returns to the series."""
    usual = next_after(series, answered, looked_on)
    half = max(series.gap_before(usual.step) // 2, 1)
    due_on = add_months(looked_on, half)
    if due_on >= usual.due_on:
        return usual
    return NextStep(max(usual.step - 1, 0), due_on, usual.counted_from)


def _far_ahead(series: Series, answered: Standing, looked_on: date) -> bool:
    # A day moved into a season stands after its own day of the series, and is still that step.
    at = min(answered.due_on, _own_day(series, answered))
    earlier = itertools.takewhile(
        lambda found: found.due_on < at, series.days(answered.counted_from)
    )
    before = max((found.due_on for found in earlier), default=answered.counted_from)
    return looked_on < before + (answered.due_on - before) / 2


def _own_day(series: Series, answered: Standing) -> date:
    """The series' own day of a date that a person moved ahead of it; the date itself if its
    step means another day since the rule was changed."""
    own = series.day(answered.counted_from, answered.step)
    reach = add_months(answered.due_on, series.gap_before(answered.step))
    return own if own <= reach else answered.due_on

"""The series of looks that one rule sets: which day each falls on, and which comes next.

Dates in, dates out. The anchor way keeps to the days counted from the first one, however late a
look was, so that a look in spring stays in spring; the other way counts from the day done."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from repairs.due.intervals import add_months


@dataclass(frozen=True)
class NextStep:
    step: int
    due_on: date
    counted_from: date


@dataclass(frozen=True)
class Series:
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
        """Months between a step and the one before it."""
        return self.months_at(step) - (self.months_at(step - 1) if step > 0 else 0)

    def day(self, counted_from: date, step: int) -> date:
        return add_months(counted_from, self.months_at(step))

    def days(self, counted_from: date) -> Iterator[NextStep]:
        for step in itertools.count():
            yield NextStep(step, self.day(counted_from, step), counted_from)

    def first_after(self, counted_from: date, limit: date) -> NextStep:
        return next(found for found in self.days(counted_from) if found.due_on > limit)


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
        due_on = add_months(looked_on, series.gap_before(step))
        return NextStep(step, due_on, looked_on)
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
    earlier = itertools.takewhile(
        lambda found: found.due_on < answered.due_on, series.days(answered.counted_from)
    )
    before = max((found.due_on for found in earlier), default=answered.counted_from)
    return looked_on < before + (answered.due_on - before) / 2


def _own_day(series: Series, answered: Standing) -> date:
    """The series' own day of a date that a person moved ahead of it; the date itself if its
    step means another day since the rule was changed."""
    own = series.day(answered.counted_from, answered.step)
    reach = add_months(answered.due_on, series.gap_before(answered.step))
    return own if own <= reach else answered.due_on

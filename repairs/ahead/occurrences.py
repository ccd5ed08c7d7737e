"""On which months many dates come round, all of one pace at once.

It gives the months of `repairs.due.series` for steps of months, for a hundred thousand dates as
quickly as for one; the two are tested against each other. A date that is overdue counts in the
month of the first day; after it the series goes on as if it had been kept that day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from repairs.due.series import Steps

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]
    Days = NDArray[np.datetime64]
    Months = NDArray[np.datetime64]


def month_number(day: date) -> int:
    """Months since January of the year 1970, as numpy counts them."""
    return (day.year - 1970) * 12 + day.month - 1


def year_of(month: int) -> int:
    return 1970 + month // 12


def first_of(month: int) -> date:
    return date(year_of(month), month % 12 + 1, 1)


@dataclass(frozen=True)
class Standings:
    """Where dates stand in their series, one place each: see `repairs.due.series.Standing`."""

    due_on: Days
    counted_from: Days
    step: Whole
    window_days: Whole

    def only(self, chosen: NDArray[np.bool_] | Whole) -> Standings:
        return Standings(
            self.due_on[chosen], self.counted_from[chosen], self.step[chosen],
            self.window_days[chosen],
        )  # fmt: skip


@dataclass(frozen=True)
class Falls:
    """`place` says which of the dates, `month` the month (since 1970) in which it falls."""

    place: Whole
    month: Whole


def falls_of(series: Steps | None, dates: Standings, on: date, end: int) -> Falls:
    """Every month before the month `end` in which each date and those after it fall; a date that
    stands alone falls once."""
    import numpy as np

    first = np.maximum(dates.due_on, np.datetime64(on, "D"))
    places, months = [np.arange(len(first))], [_months(first)]
    if series is not None:
        following = _from_done if series.from_done else _from_anchor
        for place, month in following(series, dates, first, end):
            places.append(place)
            months.append(month)
    place, month = np.concatenate(places), np.concatenate(months)
    inside = month < end
    return Falls(place[inside], month[inside])


def _months(days: Days) -> Whole:
    import numpy as np

    return days.astype("M8[M]").astype(np.int64)


def _from_done(
    series: Steps, dates: Standings, first: Days, end: int
) -> Iterator[tuple[Whole, Whole]]:
    """Each counted from the month of the one before it: a month that is too short cuts the day,
    never the month."""
    import numpy as np

    start = _months(first)
    at_step = months_at(series, dates.step)
    place = np.arange(len(first))
    further = 1
    while len(place):
        month = start[place] + months_at(series, dates.step[place] + further) - at_step[place]
        inside = month < end
        place = place[inside]
        yield place, month[inside]
        further += 1


def _from_anchor(
    series: Steps, dates: Standings, first: Days, end: int
) -> Iterator[tuple[Whole, Whole]]:
    import numpy as np

    limit = _first_limit(series, dates, first)
    window = dates.window_days.astype("m8[D]")
    place = np.arange(len(first))
    while len(place):
        day = _first_after(series, dates.counted_from[place], limit)
        month = _months(day)
        inside = month < end
        place, day = place[inside], day[inside]
        yield place, month[inside]
        limit = day + window[place]


def _first_limit(series: Steps, dates: Standings, first: Days) -> Days:
    """The day after which the first following date is looked for: as `next_after` sets it."""
    import numpy as np

    limit = first + dates.window_days.astype("m8[D]")
    own = _days_at(dates.counted_from, months_at(series, dates.step))
    gap = months_at(series, dates.step) - np.where(
        dates.step > 0, months_at(series, np.maximum(dates.step - 1, 0)), 0
    )
    own = np.where(own <= _days_at(dates.due_on, gap), own, dates.due_on)
    before = dates.counted_from
    # Whole days, cut down as dates cut them; numpy cuts its own spans towards nought.
    half_way = before + ((dates.due_on - before).astype(np.int64) // 2).astype("m8[D]")
    # Only a date that a person set before the day it is counted from lies so far ahead.
    far_ahead = (before > dates.due_on) & (first < half_way)
    later: Days = np.maximum(limit, np.maximum(own, dates.due_on))
    return np.where(far_ahead, limit, later)


def _first_after(series: Steps, counted_from: Days, limit: Days) -> Days:
    """The first day of each series that lies after its limit."""
    import numpy as np

    wanted = _months(limit) - _months(counted_from)
    step = _step_from(series, wanted)
    day = _days_at(counted_from, months_at(series, step))
    early = day <= limit
    if early.any():
        day = np.where(early, _days_at(counted_from, months_at(series, step + 1)), day)
    return day


def months_at(series: Steps, step: Whole) -> Whole:
    """`Steps.months_at` of many steps."""
    import numpy as np

    many = len(series.first_months)
    last = series.first_months[-1] if many else 0
    beyond = (last // series.then_months + step - many + 1) * series.then_months
    if not many:
        return beyond
    known = np.array(series.first_months)[np.minimum(step, many - 1)]
    return np.where(step < many, known, beyond)


def _step_from(series: Steps, months: Whole) -> Whole:
    """The first step that lies so many months on, or more."""
    import numpy as np

    many = len(series.first_months)
    last = series.first_months[-1] if many else 0
    beyond = -(-months // series.then_months) - last // series.then_months - 1 + many
    found = np.maximum(beyond, many)
    if not many:
        return found
    early = np.searchsorted(np.array(series.first_months), months)
    return np.where(months <= last, early, found)


def _days_at(counted_from: Days, months: Whole) -> Days:
    """`add_months` of many days: a month that is too short ends on its last day."""
    import numpy as np

    start = counted_from.astype("M8[M]")
    day = counted_from - start.astype("M8[D]")
    month = start + months.astype("m8[M]")
    last = (month + np.timedelta64(1, "M")).astype("M8[D]") - np.timedelta64(1, "D")
    found: Days = np.minimum(month.astype("M8[D]") + day, last)
    return found

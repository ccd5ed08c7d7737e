"""The months of many dates at once are those of the one function that sets dates, by the day."""

from datetime import date
from itertools import takewhile

import numpy as np
from dateutil.rrule import MONTHLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from repairs.ahead.occurrences import (
    Standings,
    falls_of,
    first_of,
    month_number,
    months_at,
    year_of,
)
from repairs.due.intervals import add_months
from repairs.due.pace import Pace, days_by
from repairs.due.series import Standing, Steps
from repairs.models import DueRule

days = st.dates(date(2018, 1, 1), date(2032, 12, 31))
standings = st.builds(
    Standing, days, days, st.integers(0, 40), st.sampled_from([0, 7, 14, 30, 90, 366])
)
first_steps = st.lists(st.integers(1, 40), max_size=3, unique=True).map(sorted)
series = st.builds(Steps, first_steps.map(tuple), st.integers(1, 130), st.booleans())


def columns(dates: list[Standing]) -> Standings:
    return Standings(
        np.array([each.due_on for each in dates], dtype="M8[D]"),
        np.array([each.counted_from for each in dates], dtype="M8[D]"),
        np.array([each.step for each in dates]),
        np.array([each.window_days for each in dates]),
    )


def months_by_the_day(found: Steps, standing: Standing, on: date, end: int) -> list[int]:
    rule = DueRule(
        first_months=list(found.first_months),
        then_months=found.then_months,
        from_done=found.from_done,
    )
    most = end - month_number(on) + 2
    coming = days_by(Pace(rule, None), standing, most, on)
    return list(takewhile(lambda month: month < end, (month_number(max(d, on)) for d in coming)))


@given(series, st.lists(standings, min_size=1, max_size=4), days, st.integers(1, 6))
def test_each_falls_in_the_months_that_the_schedule_counts(found, dates, on, years):
    end = month_number(date(on.year + years, 1, 1))
    falls = falls_of(found, columns(dates), on, end)
    for place, standing in enumerate(dates):
        ours = sorted(falls.month[falls.place == place].tolist())
        assert ours == months_by_the_day(found, standing, on, end)


@given(series, st.lists(st.integers(0, 300), min_size=1))
def test_months_of_steps_are_those_of_the_series(found, steps):
    assert months_at(found, np.array(steps)).tolist() == [found.months_at(step) for step in steps]


@given(days, st.integers(1, 36), st.integers(1, 8))
def test_a_date_of_a_rule_falls_in_the_months_of_a_recurrence_of_dateutil(due_on, months, years):
    """Told on the day before, each of the dates to come is kept on its day."""
    counted_from = add_months(due_on, -months)
    if add_months(counted_from, months) != due_on:
        return
    end = date(due_on.year + years, 1, 1)
    rule = rrule(MONTHLY, interval=months, dtstart=due_on.replace(day=1))
    wanted = [month_number(each.date()) for each in takewhile(lambda at: at.date() < end, rule)]
    for from_done in (False, True):
        standing = Standing(counted_from, due_on, 0, 0)
        falls = falls_of(
            Steps((), months, from_done), columns([standing]), due_on, month_number(end)
        )
        assert sorted(falls.month.tolist()) == wanted


def test_a_date_that_stands_alone_falls_once():
    standing = Standing(date(2026, 1, 1), date(2031, 5, 4), 0, 14)
    falls = falls_of(None, columns([standing]), date(2026, 1, 1), month_number(date(2036, 1, 1)))
    assert [first_of(month) for month in falls.month] == [date(2031, 5, 1)]


def test_29_february_and_an_overdue_date_keep_their_months():
    """Every 12 months from 29 February 2020: overdue on 10 March 2026, then each February."""
    standing = Standing(date(2020, 2, 29), date(2021, 2, 28), 0, 14)
    end = month_number(date(2029, 1, 1))
    falls = falls_of(Steps((), 12), columns([standing]), date(2026, 3, 10), end)
    assert [first_of(month) for month in falls.month] == [
        date(2026, 3, 1), date(2027, 2, 1), date(2028, 2, 1),
    ]  # fmt: skip


def test_months_before_1970_have_their_year():
    month = month_number(date(1969, 12, 31))
    assert (month, year_of(month), first_of(month)) == (-1, 1969, date(1969, 12, 1))

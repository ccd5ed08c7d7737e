"""Twelve months as weeks: pure dates."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from repairs.due.calendar_year import months_later, twelve_months

days = st.dates(date(1990, 1, 1), date(2090, 12, 31))


def test_weeks_begin_on_monday() -> None:
    june = twelve_months(date(2026, 6, 15), {}, date(2026, 6, 15))[0]
    assert june.first == date(2026, 6, 1)
    assert all(week[0].day.weekday() == 0 for week in june.weeks)


def test_a_month_counts_only_its_own_days() -> None:
    counts = {date(2026, 6, 30): 2, date(2026, 7, 1): 3}
    june, july, *rest = twelve_months(date(2026, 6, 1), counts, date(2026, 6, 1))
    assert (june.total, july.total, sum(month.total for month in rest)) == (2, 3, 0)
    assert [day.day for day in july.busy_days] == [date(2026, 7, 1)]


def test_months_pass_over_the_year() -> None:
    assert months_later(date(2026, 12, 1), 1) == date(2027, 1, 1)
    assert months_later(date(2026, 1, 1), -1) == date(2025, 12, 1)


@given(first=days, offsets=st.lists(st.integers(0, 364), max_size=40))
def test_twelve_months_hold_every_date_of_the_year_once(first: date, offsets: list[int]) -> None:
    start = first.replace(day=1)
    counts = {start + timedelta(days=offset): 1 for offset in offsets}
    months = twelve_months(first, counts, first)
    assert len(months) == 12
    assert sum(month.total for month in months) == len(counts)

"""The last usable day of a lot."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.shelf_life import LastUsableDay, last_usable_day

days = st.dates(date(2000, 1, 1), date(2100, 1, 1))
MARCH_END = date(2026, 3, 31)


def last(**known: Any) -> LastUsableDay:
    facts = dict.fromkeys(
        ("printed_expiry", "made_on", "received_on", "opened_on", "unopened_months",
         "opened_months")
    )  # fmt: skip
    return last_usable_day(**{**facts, **known})


def test_scenario_5_expiry_31_march_used_12_april_is_12_days_past() -> None:
    shelf = last(printed_expiry=MARCH_END)
    assert shelf.days_past(date(2026, 4, 12)) == 12
    assert not shelf.usable(date(2026, 4, 12))


def test_the_expiry_day_itself_is_still_good() -> None:
    shelf = last(printed_expiry=MARCH_END)
    assert shelf.usable(MARCH_END)
    assert shelf.days_past(MARCH_END) == 0
    assert not shelf.usable(MARCH_END + timedelta(days=1))


def test_with_no_expiry_printed_the_shelf_life_counts_from_the_day_made() -> None:
    shelf = last(made_on=date(2025, 1, 10), received_on=date(2025, 6, 1), unopened_months=12)
    assert shelf == LastUsableDay(date(2026, 1, 10), "made")


def test_with_no_day_made_it_counts_from_the_day_received() -> None:
    shelf = last(received_on=date(2025, 6, 1), unopened_months=18)
    assert shelf == LastUsableDay(date(2026, 12, 1), "received")


def test_what_is_printed_goes_before_the_sheets_shelf_life() -> None:
    shelf = last(printed_expiry=MARCH_END, made_on=date(2020, 1, 1), unopened_months=12)
    assert shelf == LastUsableDay(MARCH_END, "printed")


def test_the_life_once_opened_governs_where_it_ends_sooner() -> None:
    shelf = last(printed_expiry=MARCH_END, opened_on=date(2025, 8, 31), opened_months=6)
    assert shelf == LastUsableDay(date(2026, 2, 28), "opened")
    assert "opened" in shelf.words


def test_opening_late_does_not_lengthen_what_is_printed() -> None:
    shelf = last(printed_expiry=MARCH_END, opened_on=date(2026, 3, 1), opened_months=6)
    assert shelf.rule == "printed"


def test_nothing_recorded_is_never_past_and_says_so() -> None:
    shelf = last(received_on=date(2000, 1, 1), opened_on=date(2001, 1, 1))
    assert shelf == LastUsableDay(None, "none")
    assert shelf.usable(date(2099, 1, 1))
    assert shelf.days_past(date(2099, 1, 1)) == 0
    assert "is recorded" in shelf.words


def test_a_shelf_life_below_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="0 months or more"):
        last(received_on=date(2025, 1, 1), unopened_months=-1)


@given(days, days, days, st.integers(0, 60), st.integers(0, 60))
def test_no_further_fact_makes_a_lot_last_longer(
    printed: date, received: date, opened: date, unopened_months: int, opened_months: int
) -> None:
    less = last(printed_expiry=printed)
    more = last(
        printed_expiry=printed, received_on=received, opened_on=opened,
        unopened_months=unopened_months, opened_months=opened_months,
    )  # fmt: skip
    assert less.day is not None
    assert more.day is not None
    assert more.day <= less.day


@given(days, st.integers(0, 60), days)
def test_usable_and_days_past_say_the_same(received: date, months: int, on: date) -> None:
    shelf = last(received_on=received, unopened_months=months)
    assert shelf.usable(on) == (shelf.days_past(on) == 0)


@given(days, st.integers(0, 60))
def test_a_month_end_stays_within_its_month(received: date, months: int) -> None:
    day = last(received_on=received, unopened_months=months).day
    assert day is not None
    assert (day.year * 12 + day.month) - (received.year * 12 + received.month) == months
    assert day.day <= received.day

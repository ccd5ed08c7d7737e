"""Which day each look falls on, and which comes next: pure dates, no database."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from repairs.due.series import Standing, Steps, half_way_after, next_after

REPAIR = Steps((1, 6), 12)
YEARLY = Steps((), 12)
YEARLY_FROM_DONE = Steps((), 12, from_done=True)
days = st.dates(date(1990, 1, 1), date(2090, 12, 31))


def standing(due_on: date, counted_from: date, step: int = 0, window_days: int = 14) -> Standing:
    return Standing(counted_from, due_on, step, window_days)


def test_a_repair_is_looked_at_after_one_and_six_months_then_yearly() -> None:
    assert [REPAIR.months_at(step) for step in range(6)] == [1, 6, 12, 24, 36, 48]


def test_first_steps_up_to_a_year_are_followed_by_the_second_year() -> None:
    assert [Steps((1, 6, 12), 12).months_at(step) for step in range(5)] == [1, 6, 12, 24, 36]


def test_a_series_without_first_steps_returns_at_its_interval() -> None:
    assert [Steps((), 3).months_at(step) for step in range(4)] == [3, 6, 9, 12]


def test_a_month_too_short_ends_the_interval_on_its_last_day() -> None:
    assert REPAIR.day(date(2025, 8, 31), 1) == date(2026, 2, 28)
    assert YEARLY.day(date(2024, 2, 29), 0) == date(2025, 2, 28)


def test_after_a_clamped_month_the_series_finds_its_own_day_again() -> None:
    monthly = Steps((), 1)
    found = next_after(monthly, standing(date(2026, 2, 28), date(2026, 1, 31)), date(2026, 2, 28))
    assert next_after(
        Steps((), 1), standing(date(2026, 2, 28), date(2025, 12, 31), 1, 3), date(2026, 2, 28)
    ).due_on == date(2026, 3, 31)
    assert found.due_on == date(2026, 3, 31)


def test_a_late_look_keeps_the_season() -> None:
    answered = standing(date(2025, 4, 15), date(2024, 4, 15))
    assert next_after(YEARLY, answered, date(2025, 6, 3)).due_on == date(2026, 4, 15)


def test_a_late_look_counts_on_where_the_rule_says_so() -> None:
    answered = standing(date(2025, 4, 15), date(2024, 4, 15))
    assert next_after(YEARLY_FROM_DONE, answered, date(2025, 6, 3)).due_on == date(2026, 6, 3)


def test_a_look_that_outran_the_next_day_passes_over_it() -> None:
    answered = standing(date(2026, 6, 4), date(2026, 5, 4))
    assert next_after(REPAIR, answered, date(2026, 12, 1)).due_on == date(2027, 5, 4)


def test_a_look_a_little_early_answers_its_day() -> None:
    answered = standing(date(2026, 11, 4), date(2026, 5, 4), step=1)
    assert next_after(REPAIR, answered, date(2026, 10, 1)).due_on == date(2027, 5, 4)


def test_a_look_far_ahead_leaves_the_day_standing() -> None:
    answered = standing(date(2027, 5, 4), date(2024, 5, 4), step=2)
    assert next_after(YEARLY, answered, date(2026, 7, 1)).due_on == date(2027, 5, 4)


def test_a_day_moved_ahead_still_answers_its_own_step() -> None:
    moved = standing(date(2026, 9, 1), date(2026, 5, 4), step=1)
    assert next_after(REPAIR, moved, date(2026, 9, 1)).due_on == date(2027, 5, 4)


def test_a_step_of_an_earlier_rule_does_not_skip_years() -> None:
    """The step was counted by a 3-month rule; the rule now says yearly."""
    answered = standing(date(2027, 8, 4), date(2025, 5, 4), step=8)
    assert next_after(YEARLY, answered, date(2027, 8, 4)).due_on == date(2028, 5, 4)


def test_watch_halves_the_interval_and_sound_restores_the_series() -> None:
    watched = half_way_after(YEARLY, standing(date(2026, 5, 4), date(2025, 5, 4)), date(2026, 5, 4))
    assert watched.due_on == date(2026, 11, 4)
    again = Standing(watched.counted_from, watched.due_on, watched.step, 14)
    assert next_after(YEARLY, again, date(2026, 11, 4)).due_on == date(2027, 5, 4)


def test_watch_never_puts_a_look_later_than_usual() -> None:
    late = standing(date(2025, 5, 4), date(2024, 5, 4))
    watched = half_way_after(YEARLY, late, date(2026, 3, 1))
    assert watched.due_on == date(2026, 5, 4)


@given(counted_from=days, looked=st.integers(-400, 4000), step=st.integers(0, 8))
def test_the_next_look_lies_after_the_look(counted_from: date, looked: int, step: int) -> None:
    answered = standing(REPAIR.day(counted_from, step), counted_from, step)
    looked_on = answered.due_on + timedelta(days=looked)
    for series in (REPAIR, YEARLY, YEARLY_FROM_DONE):
        found = next_after(series, answered, looked_on)
        assert found.due_on > looked_on
        assert half_way_after(series, answered, looked_on).due_on <= found.due_on


@given(counted_from=days, late=st.integers(0, 4000), step=st.integers(0, 8))
def test_an_anchored_look_is_never_more_than_an_interval_and_a_window_away(
    counted_from: date, late: int, step: int
) -> None:
    answered = standing(YEARLY.day(counted_from, step), counted_from, step)
    looked_on = answered.due_on + timedelta(days=late)
    assert next_after(YEARLY, answered, looked_on).due_on <= looked_on + timedelta(days=366 + 15)

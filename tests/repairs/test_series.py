"""Which day each look falls on, and which comes next: pure dates, no database."""

import calendar
import itertools
import re
from datetime import date, datetime, time, timedelta

import pytest
from dateutil.rrule import MONTHLY, rrule
from dateutil.rrule import YEARLY as YEARLY_RULE
from hypothesis import given
from hypothesis import strategies as st

from repairs.due.fixed_days import MONTHS, days_from, in_words
from repairs.due.series import FixedDays, Standing, Steps, half_way_after, next_after

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


@given(counted_from=days, months=st.sampled_from([1, 3, 5, 6, 12, 18, 24]))
def test_steps_of_months_agree_with_a_recurrence_of_dateutil(
    counted_from: date, months: int
) -> None:
    """RFC 5545 skips a month that is too short; the last of the days up to that of the first, in
    each month, is how a recurrence says that such a month ends on its last day."""
    rule = rrule(
        MONTHLY, interval=months, dtstart=counted_from.replace(day=1), bysetpos=-1,
        bymonthday=range(1, counted_from.day + 1),
    )  # fmt: skip
    found = [step.due_on for step in itertools.islice(Steps((), months).days(counted_from), 30)]
    assert found == [each.date() for each in itertools.islice(rule, 1, 31)]


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


# Fixed days of the year

SPRING_AND_AUTUMN = FixedDays(("04-15", "10-15"))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("15 April, 15 October", ["04-15", "10-15"]), ("15 Oct; 15 apr.", ["04-15", "10-15"]),
        ("04-15", ["04-15"]), ("April 15 and Oct 15", ["04-15", "10-15"]),
        ("29 February", ["02-29"]), ("31 December\n 1 July", ["07-01", "12-31"]), ("", []),
    ],
)  # fmt: skip
def test_days_of_the_year_are_read_as_people_write_them(text: str, found: list[str]) -> None:
    assert days_from(text) == found


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("30 February", "30 February never comes; February ends on its 29th."),
        ("31 April", "31 April never comes"), ("32 May", "32 May never comes; May has 31 days"),
        ("0 May", "never comes"), ("15 Smarch", "no such month"), ("13-01", "no such month"),
        ("15.4.", "is no day of the year"), ("every day", "is no day of the year"),
        ("15 April, April 15", "15 April stands there twice"),
        ("15 April, 1 May", "15 April and 1 May lie less than 28 days apart"),
        ("31 December, 5 January", "31 December and 5 January lie less than 28 days apart"),
        (", ".join(f"{day} May" for day in range(1, 14)), "At most 12 days a year"),
        ("15 April 2027", "is no day of the year"), ("٣ May", "is no day of the year"),
    ],
)  # fmt: skip
def test_days_that_make_no_rule_are_refused_with_a_sentence(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        days_from(text)


def test_twelve_days_a_year_are_a_rule() -> None:
    assert len(days_from(", ".join(f"01 {month}" for month in MONTHS))) == 12


def test_29_february_falls_on_the_28th_of_other_years() -> None:
    leap = FixedDays(("02-29",))
    found = [step.due_on for step in itertools.islice(leap.days(date(2026, 1, 1)), 3)]
    assert found == [date(2026, 2, 28), date(2027, 2, 28), date(2028, 2, 29)]
    assert in_words(["02-29"]) == "29 February (the 28th in other years)"


def test_a_look_on_a_fixed_day_is_followed_by_the_next_of_them() -> None:
    answered = standing(date(2027, 4, 15), date(2026, 11, 28))
    early, late = date(2027, 4, 3), date(2027, 6, 20)
    for looked_on in (early, date(2027, 4, 15), late):
        assert next_after(SPRING_AND_AUTUMN, answered, looked_on).due_on == date(2027, 10, 15)
    far_ahead = next_after(SPRING_AND_AUTUMN, answered, date(2026, 12, 10))
    assert far_ahead.due_on == date(2027, 4, 15)


def test_watch_halves_the_time_between_fixed_days() -> None:
    answered = standing(date(2027, 4, 15), date(2026, 11, 28))
    found = half_way_after(SPRING_AND_AUTUMN, answered, date(2027, 4, 15))
    assert found.due_on == date(2027, 7, 15)
    sooner = Standing(found.counted_from, found.due_on, found.step, 14)
    assert next_after(SPRING_AND_AUTUMN, sooner, found.due_on).due_on == date(2027, 10, 15)


def test_a_day_of_a_persons_own_goes_on_with_the_next_fixed_day() -> None:
    day = date(2027, 9, 15)
    counted = SPRING_AND_AUTUMN.counted_back(day)
    assert SPRING_AND_AUTUMN.day(counted, 0) == date(2027, 4, 15)
    assert next_after(SPRING_AND_AUTUMN, standing(day, counted), day).due_on == date(2027, 10, 15)
    assert YEARLY.counted_back(day) == date(2026, 9, 15)
    assert REPAIR.counted_back(day) == day


month_days = st.sampled_from(["01-31", "02-28", "02-29", "04-15", "06-30", "08-31", "12-31"])


@given(days, st.lists(month_days, min_size=1, max_size=4, unique=True))
def test_fixed_days_agree_with_a_walk_over_the_calendar(
    counted_from: date, wanted: list[str]
) -> None:
    series = FixedDays(tuple(sorted(wanted)))
    found = [step.due_on for step in itertools.islice(series.days(counted_from), 9)]
    walk = (counted_from + timedelta(days=ahead) for ahead in range(1, 366 * 10))
    assert found == list(itertools.islice((day for day in walk if falls(day, wanted)), 9))


def falls(day: date, wanted: list[str]) -> bool:
    stands_in = f"{day:%m-%d}" == "02-28" and not calendar.isleap(day.year) and "02-29" in wanted
    return f"{day:%m-%d}" in wanted or stands_in


@given(days, st.lists(month_days, min_size=1, max_size=4, unique=True), st.integers(0, 3000))
def test_fixed_days_agree_with_dateutil_asked_directly(
    counted_from: date, wanted: list[str], later: int
) -> None:
    """Each day as its own yearly rule; dateutil leaves out a 29 February that is not there."""
    series, limit = FixedDays(tuple(sorted(wanted))), counted_from + timedelta(days=later)
    asked = [yearly_after(day, limit) for day in wanted if day != "02-29"]
    found = series.first_after(counted_from, limit).due_on
    assert found > limit
    if asked and "02-29" not in wanted:
        assert found == min(asked)
    elif asked:
        assert found <= min(asked)


def yearly_after(day: str, limit: date) -> date:
    start = datetime(1900, 1, 1)  # noqa: DTZ001
    rule = rrule(YEARLY_RULE, dtstart=start, bymonth=int(day[:2]), bymonthday=int(day[3:]))
    found = rule.after(datetime.combine(limit, time.max))
    assert found is not None
    return found.date()


@given(counted_from=days, looked=st.integers(-400, 4000), step=st.integers(0, 8))
def test_the_next_fixed_day_lies_after_the_look(counted_from: date, looked: int, step: int) -> None:
    answered = standing(SPRING_AND_AUTUMN.day(counted_from, step), counted_from, step)
    looked_on = max(answered.due_on + timedelta(days=looked), counted_from)
    found = next_after(SPRING_AND_AUTUMN, answered, looked_on)
    assert found.due_on > looked_on
    assert half_way_after(SPRING_AND_AUTUMN, answered, looked_on).due_on <= found.due_on

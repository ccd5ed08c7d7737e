"""Seasons and frost: which days of a year a rule allows, and where a day is moved."""

from datetime import date, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from repairs.due.seasons import (
    ALL_MONTHS,
    ANY_DAY,
    SEASONS,
    DayRules,
    PlaceYear,
    frost_months,
    months_of,
    moved_day,
    shortest_run_days,
)

LONG_AGO = date(1900, 1, 1)
days = st.dates(date(1990, 1, 1), date(2090, 12, 31))
seasons = st.lists(st.sampled_from(sorted(SEASONS)), unique=True).map(tuple)
months = st.frozensets(st.integers(1, 12), max_size=8)
any_rules = st.builds(DayRules, seasons, months, st.booleans(), st.integers(0, 120))

SPRING = DayRules(("spring",))
NO_MONTHS = "The months here are not recorded: frost is taken"
NO_PLACE = "No place is recorded: north of the equator is taken."


def at(words: str) -> date:
    return date.fromisoformat(words)


@pytest.mark.parametrize(
    ("season", "north", "south"),
    [
        ("spring", (3, 4, 5), (9, 10, 11)), ("summer", (6, 7, 8), (12, 1, 2)),
        ("autumn", (9, 10, 11), (3, 4, 5)), ("winter", (12, 1, 2), (6, 7, 8)),
    ],
)  # fmt: skip
def test_seasons_are_whole_months_and_turn_south_of_the_equator(
    season: str, north: tuple[int, ...], south: tuple[int, ...]
) -> None:
    assert months_of(season) == north
    assert months_of(season, south=True) == south


@pytest.mark.parametrize(
    ("day", "moved"),
    [
        ("2027-04-10", "2027-04-10"), ("2027-03-01", "2027-03-01"), ("2027-05-31", "2027-05-31"),
        ("2027-02-28", "2027-03-01"), ("2028-02-29", "2028-03-01"), ("2027-06-01", "2027-05-31"),
        ("2027-01-10", "2027-03-01"), ("2027-09-20", "2027-05-31"), ("2027-10-31", "2028-03-01"),
    ],
)  # fmt: skip
def test_a_day_out_of_season_goes_to_the_nearest_day_in_it(day: str, moved: str) -> None:
    assert moved_day(at(day), LONG_AGO, SPRING).day == at(moved)


def test_of_two_days_equally_near_the_earlier_is_taken() -> None:
    """From 1 July it is 31 days back to 31 May and 31 on to 1 August."""
    shut = DayRules(frost_months=frozenset({6, 7}))
    assert moved_day(at("2027-07-01"), LONG_AGO, shut).day == at("2027-05-31")
    assert moved_day(at("2027-07-02"), LONG_AGO, shut).day == at("2027-08-01")


def test_a_look_is_in_time_rather_than_near() -> None:
    """From 28 November it is 108 days on to 15 March and 181 back to 31 May."""
    month = DayRules(("spring",), window_days=14)
    assert moved_day(at("2027-11-28"), LONG_AGO, month).day == at("2028-03-15")
    assert moved_day(at("2027-11-28"), LONG_AGO, month, in_time=True).day == at("2027-05-31")
    late = moved_day(at("2027-11-28"), at("2027-06-30"), month, in_time=True)
    assert late.day == at("2028-03-15")


def test_a_day_is_never_moved_to_one_that_is_past() -> None:
    assert moved_day(at("2027-09-20"), at("2027-05-31"), SPRING).day == at("2028-03-01")
    assert moved_day(at("2027-09-20"), at("2027-05-30"), SPRING).day == at("2027-05-31")


def test_the_window_lies_in_the_season_as_the_day_does() -> None:
    month = DayRules(("spring",), window_days=30)
    assert moved_day(at("2027-02-10"), LONG_AGO, month).day == at("2027-03-31")
    longer_than_spring = DayRules(("spring",), window_days=120)
    assert moved_day(at("2027-02-10"), LONG_AGO, longer_than_spring).day == at("2027-05-31")


def test_the_words_say_from_where_and_why() -> None:
    assert moved_day(at("2027-01-10"), LONG_AGO, SPRING).words == (
        "Moved from 10 January 2027, to be in spring."
    )
    both = DayRules(("spring", "autumn"), frozenset({3, 11}), presumed="No place is recorded.")
    assert moved_day(at("2027-03-10"), LONG_AGO, both).words == (
        "Moved from 10 March 2027, to be in spring or autumn and out of frost. "
        "No place is recorded."
    )
    assert moved_day(at("2027-04-10"), LONG_AGO, both).words == ""


def test_where_nothing_is_allowed_the_day_stands_and_says_so() -> None:
    nothing = DayRules(("winter",), frozenset({12, 1, 2}))
    found = moved_day(at("2027-06-10"), LONG_AGO, nothing)
    assert (found.day, found.words) == (
        at("2027-06-10"), "No day here is in winter and out of frost: the day stands.",
    )  # fmt: skip


def test_a_rule_that_asks_nothing_moves_nothing() -> None:
    assert moved_day(at("2027-01-10"), LONG_AGO, ANY_DAY).words == ""
    assert moved_day(at("2027-01-10"), LONG_AGO, ANY_DAY).day == at("2027-01-10")


def allowed(day: date, rules: DayRules) -> bool:
    return day.month in rules.months()


@given(days, st.integers(-800, 800), any_rules)
def test_a_moved_day_is_allowed_and_later_than_what_it_counts_from(
    day: date, before: int, rules: DayRules
) -> None:
    assume(rules.months())
    not_before = day - timedelta(days=before)
    found = moved_day(day, not_before, rules).day
    assert found > not_before
    assert allowed(found, rules)
    if rules.window_days < shortest_run_days(rules.months()):
        window = (found - timedelta(days=back) for back in range(rules.window_days + 1))
        assert all(allowed(each, rules) for each in window)


@given(days, st.integers(-200, 400), st.builds(DayRules, seasons, months, st.booleans()))
def test_no_allowed_day_is_nearer(day: date, before: int, rules: DayRules) -> None:
    """Against a walk over every day of the years around it."""
    assume(rules.months())
    not_before = day - timedelta(days=before)
    walk = (day + timedelta(days=step) for step in range(-1200, 1200))
    open_days = [each for each in walk if each > not_before and allowed(each, rules)]
    nearest = min(open_days, key=lambda each: (abs(each - day), each))
    assert moved_day(day, not_before, rules).day == nearest


def test_frost_is_where_a_month_has_a_mean_of_2_degrees_or_less() -> None:
    means = [2.0, 2.1, 5, 9, 13, 16, 18, 18, 14, 10, 5, -3]
    assert frost_months(means, south=False) == {1, 12}
    assert frost_months([10.0] * 12, south=False) == frozenset()
    assert frost_months([-10.0] * 12, south=False) == ALL_MONTHS


def test_without_months_winter_is_taken_for_frost() -> None:
    assert frost_months(None, south=False) == {12, 1, 2}
    assert frost_months(None, south=True) == {6, 7, 8}
    with pytest.raises(ValueError, match="twelve"):
        frost_months([1.0] * 11, south=False)


@pytest.mark.parametrize(
    ("place", "frost", "words"),
    [
        (PlaceYear(51.5, (0.0,) * 3 + (9.0,) * 9), {1, 2, 3}, ""),
        (PlaceYear(51.5), {12, 1, 2}, f"{NO_MONTHS} December to February."),
        (PlaceYear(-36.8), {6, 7, 8}, f"{NO_MONTHS} June to August."),
        (PlaceYear(), {12, 1, 2}, f"{NO_MONTHS} December to February. {NO_PLACE}"),
    ],
)  # fmt: skip
def test_what_is_not_known_of_a_place_is_said(
    place: PlaceYear, frost: set[int], words: str
) -> None:
    rules = place.days((), True, 0)
    assert (rules.frost_months, rules.presumed) == (frost, words)


def test_a_rule_without_season_asks_nothing_of_its_place() -> None:
    assert PlaceYear().days((), False, 30) == ANY_DAY
    assert PlaceYear().days(("spring",), False, 30).presumed == NO_PLACE
    assert PlaceYear(-0.1).days(("spring",), False, 0).months() == {9, 10, 11}
    assert PlaceYear(0.0).days(("spring",), False, 0).months() == {3, 4, 5}


def test_the_shortest_stretch_of_a_year() -> None:
    assert shortest_run_days(frozenset({3, 4, 5})) == 92
    assert shortest_run_days(frozenset({12, 1, 2, 6})) == 30
    assert shortest_run_days(ALL_MONTHS) == 365
    assert shortest_run_days(frozenset()) == 0

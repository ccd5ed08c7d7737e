"""How long repairs last, spot by spot."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.stories.zone_lives import Life, Span, length_in_words, lives, lives_in_words, ordinal

DAYS = st.dates(date(1990, 1, 1), date(2026, 1, 1))


def test_a_repair_lasts_until_the_next_one_or_to_date() -> None:
    found = lives([Span(date(2018, 5, 1)), Span(date(2023, 6, 1))])
    assert lives_in_words(found) == "lives 5 years and to date"


def test_a_failed_repair_lasts_until_it_was_found_failed() -> None:
    found = lives([Span(date(2025, 1, 10), failed_on=date(2025, 10, 20)), Span(date(2025, 11, 2))])
    assert lives_in_words(found) == "lives 9 months and to date"


@pytest.mark.parametrize(
    ("life", "said"),
    [
        (Life(date(2025, 1, 1), None), "lasting to date"),
        (Life(date(2025, 1, 1), date(2025, 1, 25)), "it lasted 24 days"),
        (Life(date(2025, 1, 1), date(2025, 1, 1)), "it lasted 0 days"),
    ],
)
def test_one_life_is_a_sentence(life: Life, said: str) -> None:
    assert lives_in_words([life]) == said


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (date(2024, 1, 1), date(2024, 1, 2), "1 day"),
        (date(2024, 1, 1), date(2024, 3, 1), "2 months"),
        (date(2024, 1, 1), date(2025, 1, 1), "1 year"),
        (date(2024, 1, 1), date(2025, 8, 1), "19 months"),
        (date(2018, 5, 1), date(2023, 6, 1), "5 years"),
        (date(2024, 2, 29), date(2026, 2, 28), "2 years"),
    ],
)
def test_a_length_is_said_in_the_unit_that_fits(first: date, last: date, said: str) -> None:
    assert length_in_words(first, last) == said


@given(st.lists(DAYS, min_size=1, max_size=8).map(sorted))
def test_only_the_last_repair_can_last_to_date(days: list[date]) -> None:
    found = lives([Span(day) for day in days])
    assert [life.ended_on for life in found] == [*days[1:], None]


def test_counting_goes_on_past_the_words() -> None:
    assert [ordinal(number) for number in (3, 9)] == ["third", "9th"]

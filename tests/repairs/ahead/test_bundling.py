"""Which years are put together for one scaffold."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.ahead.bundling import Bundle, apart, bundles

jobs_by_year = st.dictionaries(st.integers(2026, 2055), st.integers(0, 9), max_size=10)


def test_three_years_go_to_the_middle_one():
    assert next(bundles({2027: 1, 2028: 1, 2029: 1})) == Bundle(2027, 2029, (2028, 2027, 2029), 2)


def test_the_year_with_most_jobs_draws_the_others():
    assert next(bundles({2027: 5, 2028: 1})).year == 2027
    assert next(bundles({2027: 1, 2028: 5})).year == 2028


def test_of_equals_the_earlier_year_is_taken():
    assert next(bundles({2027: 2, 2029: 2})).year == 2027


def test_years_too_far_apart_are_left_apart():
    assert list(bundles({2027: 1, 2030: 1})) == []
    assert next(bundles({2027: 1, 2029: 1, 2031: 1})) == Bundle(2027, 2031, (2029,), 2)


@given(jobs_by_year, st.integers(1, 4))
def test_no_job_moves_further_than_is_allowed_and_each_bundle_saves_a_visit(jobs, most):
    for each in bundles(jobs, most):
        years = [year for year, count in jobs.items() if count and each.first <= year <= each.last]
        assert max(abs(year - each.year) for year in years) <= most
        assert jobs[each.year] > 0
        assert each.visits == len(years) - 1 >= 1


@given(jobs_by_year)
def test_chosen_bundles_share_no_year(jobs):
    chosen = apart(bundles(jobs))
    for one in chosen:
        for other in chosen:
            assert one is other or one.last < other.first or other.last < one.first


def test_the_distance_is_one_year_at_least():
    with pytest.raises(ValueError, match="at least one year"):
        list(bundles({2027: 1}, 0))

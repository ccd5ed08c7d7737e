"""Expected failures, against curves worked by hand and against counting."""

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter

from repairs.ahead.failing import DAYS_OF_A_YEAR, millionths_failing, shares_at
from repairs.survival import survival

# Ten repairs: one fails after 1, 2 and 4 years each, seven are sound after 6.
LIVES = [1.0, 2.0, 4.0] + [6.0] * 7
FAILED = [True, True, True] + [False] * 7
CURVE = survival(LIVES, FAILED)


def days(years: float) -> int:
    return round(years * DAYS_OF_A_YEAR)


def test_the_share_still_sound_falls_by_a_tenth_each_time():
    found = shares_at(CURVE, np.array([0.0, 0.9, 1.0, 3.0, 4.0, 6.0, 99.0]))
    assert found == pytest.approx([1, 1, 0.9, 0.8, 0.7, 0.7, 0.7])


def test_a_repair_three_and_a_half_years_old_worked_by_hand():
    """Sound until now: 0.8 of all. After one year more it is 4.5 years old: 0.7. So (0.8 − 0.7) /
    0.8 = 0.125 in the first year, and nothing after, where the curve is flat."""
    found = millionths_failing(CURVE, [days(3.5)], [0, days(1), days(2), days(20)])
    assert found.tolist() == [[125_000, 0, 0]]


def test_a_new_repair_fails_as_all_did():
    found = millionths_failing(CURVE, [0], [0, days(1.5), days(2.5), days(5)])
    assert found.tolist() == [[100_000, 100_000, 100_000]]


def test_where_all_have_failed_nothing_is_expected():
    curve = survival([1.0] * 10, [True] * 10)
    assert millionths_failing(curve, [days(2)], [0, days(5)]).tolist() == [[0]]


lives = st.lists(st.tuples(st.integers(1, 200), st.booleans()), min_size=10, max_size=40)


@given(lives, st.lists(st.integers(0, 25_000), min_size=1, max_size=5))
def test_the_chances_of_all_years_add_up_to_that_of_the_whole_span(each, ages):
    curve = survival([tenths / 10 for tenths, _ in each], [failed for _, failed in each])
    if not curve.is_enough:
        return
    edges = [0, 34, 399, 764, 1130, 4000]
    by_year = millionths_failing(curve, ages, edges).sum(axis=1)
    whole = millionths_failing(curve, ages, [0, 4000])[:, 0]
    assert np.abs(by_year - whole).max() <= len(edges)
    assert ((whole >= 0) & (whole <= 1_000_000)).all()


@given(lives, st.lists(st.integers(0, 9000), min_size=1, max_size=5))
def test_each_year_s_chance_is_the_conditional_difference_of_the_lifelines_curve(each, ages):
    """(S(a + k) − S(a + k + 1)) / S(a), with S by lifelines.KaplanMeierFitter."""
    years, failed = [tenths / 10 for tenths, _ in each], [failed for _, failed in each]
    curve = survival(years, failed)
    if not curve.is_enough:
        return
    fitted = KaplanMeierFitter().fit(years, failed)
    edges = [0, 34, 399, 764, 1130]
    found = millionths_failing(curve, ages, edges)
    for row, age in zip(found.tolist(), ages, strict=True):
        sound = [float(fitted.predict((age + edge) / DAYS_OF_A_YEAR)) for edge in edges]
        wanted = [
            (before - after) / sound[0] if sound[0] > 0 else 0 for before, after in pairwise(sound)
        ]
        assert [each / 1_000_000 for each in row] == pytest.approx(wanted, abs=1e-6)


@given(st.lists(st.integers(1, 60), min_size=10, max_size=30))
def test_without_censoring_it_is_the_share_of_those_left_that_fail(years):
    """All failed: of those older than 5 years, the share that fails before 9."""
    curve = survival([float(each) for each in years], [True] * len(years))
    left = [each for each in years if each > 5.5]
    found = millionths_failing(curve, [days(5.5)], [0, days(4)])[0, 0]
    share = Fraction(sum(each <= 9.5 for each in left), len(left)) if left else Fraction(0)
    assert Decimal(int(found)) == pytest.approx(Decimal(float(share * 1_000_000)), abs=1)

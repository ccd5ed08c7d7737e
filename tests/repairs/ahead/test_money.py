"""Bands, and the money of each year."""

from decimal import Decimal
from fractions import Fraction

import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.ahead.money import Band, added, rise_factor

amounts = st.integers(0, 10**9)
bands = st.builds(lambda three: Band(*sorted(three)), st.lists(amounts, min_size=3, max_size=3))


@given(st.lists(bands))
def test_a_sum_of_bands_is_a_band(parts):
    total = added(parts)
    assert total.low <= total.likely <= total.high
    assert total.likely == sum(part.likely for part in parts)


@given(bands, bands)
def test_taking_away_undoes_adding(one, other):
    assert one + other - other == one


@given(amounts, st.integers(0, 10**7), st.sampled_from([100, 1000, 100_000]))
def test_a_share_is_rounded_to_the_nearest_unit(minor, part, whole):
    exact = Fraction(minor * part, whole)
    found = Band(minor, minor, minor).share(part, whole)
    assert found.low == found.likely == found.high
    assert abs(found.likely - exact) <= Fraction(1, 2)


def test_twelve_pounds_a_metre_for_1_25_metres():
    assert Band(1000, 1200, 1500).share(125_000, 100_000) == Band(1250, 1500, 1875)


@given(st.integers(-1000, 5000).filter(bool), st.integers(0, 30))
def test_prices_rise_as_future_values_do(hundredths, years):
    rise = Decimal(hundredths) / 100
    ours = float(rise_factor(rise, years))
    assert ours == pytest.approx(npf.fv(float(rise) / 100, years, 0, -1))


@pytest.mark.parametrize("rise", ["-10.01", "50.01", "NaN", "Infinity"])
def test_a_rise_that_cannot_be_meant_is_refused(rise):
    with pytest.raises(ValueError, match="−10 % to 50 %"):
        rise_factor(Decimal(rise), 1)


def test_the_years_of_a_rise_run_forwards():
    with pytest.raises(ValueError, match="from 0 on"):
        rise_factor(Decimal(2), -1)


def test_a_band_of_nothing_is_nothing():
    assert not Band()
    assert Band(0, 0, 1)

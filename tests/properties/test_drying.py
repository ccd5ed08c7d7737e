"""The rough guide to drying: its rule, its range, and where the air keeps wood wet."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from properties.drying import FASTEST, RULE_OF_A_YEAR, drying_guide
from properties.wood_water import emc_pct

dry_air = {"air_c": 21.1, "humidity_pct": 50.0}


def usual_air() -> dict[str, float]:
    """Air that keeps wood at the 15 % of the rule, near enough."""
    assert emc_pct(20, 77) == pytest.approx(15, abs=0.05)
    return {"air_c": 20.0, "humidity_pct": 77.0}


# Limit case: the rule as it is said. Common practice, no source.
def test_an_inch_sawn_fresh_is_air_dry_within_a_year() -> None:
    guide = drying_guide(60, 20, 25, **usual_air())
    assert guide.days_high == pytest.approx(365, rel=0.01)
    assert guide.days_low == pytest.approx(365 * FASTEST, rel=0.01)


def test_twice_the_thickness_takes_twice_as_long() -> None:
    one, two = (drying_guide(28, 18, each, **dry_air).days_high for each in (25, 50))
    assert one is not None
    assert two == pytest.approx(2 * one)


def test_winter_air_keeps_it_too_wet_to_fill() -> None:
    guide = drying_guide(28, 18, 25, 5, 85)
    assert not guide.possible
    assert guide.days_low is guide.days_high is None
    assert "cannot get there: the air keeps it at 18.5 %" in guide.basis


def test_what_is_dry_enough_takes_no_time() -> None:
    guide = drying_guide(15, 18, 25, 5, 85)
    assert (guide.days_low, guide.days_high, guide.possible) == (0, 0, True)


def test_it_says_that_it_is_rough_and_nobodys_figure() -> None:
    assert "Rough, common practice, no source" in drying_guide(28, 18, 25, **dry_air).basis
    assert "common practice, no source" in RULE_OF_A_YEAR.source


@given(st.floats(12, 60), st.floats(10, 40), st.floats(1, 300))
def test_a_longer_way_never_takes_less(start: float, target: float, thickness: float) -> None:
    assume(target < start)
    here = drying_guide(start, target, thickness, **dry_air)
    wetter = drying_guide(start + 1, target, thickness, **dry_air)
    assert here.days_low is not None
    assert here.days_high is not None
    assert wetter.days_high is not None
    assert 0 < here.days_low < here.days_high < wetter.days_high


@given(st.floats(0, 200), st.floats(5, 200), st.floats(1, 300), st.floats(0, 40), st.floats(0, 100))
def test_it_never_promises_what_the_air_does_not_allow(
    start: float, target: float, thickness: float, air: float, humidity: float
) -> None:
    guide = drying_guide(start, target, thickness, air, humidity)
    assert guide.possible == (start <= target or target > guide.emc_pct)
    assert (guide.days_high is not None) == guide.possible
    assert guide.days_high is None or math.isfinite(guide.days_high)


@pytest.mark.parametrize(
    "figures",
    [
        (-1, 18, 25, 20, 50),
        (201, 18, 25, 20, 50),
        (28, 4, 25, 20, 50),
        (28, math.nan, 25, 20, 50),
        (28, 18, 0, 20, 50),
        (28, 18, 301, 20, 50),
        (28, 18, 25, -10, 50),
        (28, 18, 25, 20, 101),
    ],
)
def test_out_of_range_there_is_a_sentence_and_no_figure(figures: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match=r"from .* to"):
        drying_guide(*figures)

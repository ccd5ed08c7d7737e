"""The step of a scale and what it does to a ratio: worked out by hand, and by properties."""

from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.mixing import MixRatio, deviation, measured, split
from materials.weighing import DOUBLE_POT, in_whole_steps, least_batch, ratio_error

D = Decimal
steps = st.sampled_from([D("0.01"), D("0.1"), D(1), D(2), D(5)])
parts = st.decimals(D("0.1"), D(100), places=1)
ratios = st.builds(MixRatio, parts, parts, st.just("weight"))
tolerances = st.decimals(D("0.001"), D("0.5"), places=3)
BAD = [D(0), D(-1), D("NaN"), D("Infinity")]


def test_ten_grams_of_hardener_on_a_scale_of_whole_grams() -> None:
    """By hand: 10.5 to 29.5 against 10 to 30 is 6.78 % off."""
    assert ratio_error(D(30), D(10), D(1)) == pytest.approx(D("0.067797"), abs=D("1e-6"))


@given(parts, parts, steps)
def test_the_error_is_the_worst_of_the_four_ways_to_misread(a: D, b: D, step: D) -> None:
    half = step / 2
    if min(a, b) <= half:
        return
    wanted = measured(a, b, "weight")
    misread = [
        abs(deviation(measured(a + x * half, b + y * half, "weight"), wanted))
        for x, y in product((-1, 1), repeat=2)
    ]
    assert ratio_error(a, b, step) == pytest.approx(max(misread), abs=D("1e-20"))


@given(ratios, steps, st.decimals(D("1.1"), D(100), places=1))
def test_the_error_falls_with_the_mass(ratio: MixRatio, step: D, times: D) -> None:
    a, b = ratio.a * step * 10, ratio.b * step * 10
    assert 0 < ratio_error(a * times, b * times, step) < ratio_error(a, b, step)


@given(ratios, steps, tolerances, st.integers(0, 1000))
def test_the_least_batch_and_all_above_it_are_within_the_tolerance(
    ratio: MixRatio, step: D, tolerance: D, more: int
) -> None:
    weighed = split(least_batch(ratio, step, tolerance) + more * step, ratio)
    assert ratio_error(weighed.a, weighed.b, step) <= tolerance + D("1e-20")


@given(ratios, steps, tolerances)
def test_one_step_less_than_the_least_batch_is_too_little(
    ratio: MixRatio, step: D, tolerance: D
) -> None:
    less = least_batch(ratio, step, tolerance) - step
    if less <= 0:
        return
    weighed = split(less, ratio)
    if min(weighed.a, weighed.b) > step / 2:
        assert ratio_error(weighed.a, weighed.b, step) > tolerance


def test_the_least_batch_on_a_kitchen_scale() -> None:
    """By hand, 100 : 33 within 5 %: A ≥ 1 × (1.05 + 100/33) / 0.1 = 40.8, with B 54.3."""
    assert least_batch(MixRatio(D(100), D(33), "weight"), D(1), D("0.05")) == 55


@pytest.mark.parametrize("bad", BAD)
def test_nothing_is_not_weighed(bad: D) -> None:
    ratio = MixRatio(D(2), D(1), "weight")
    for call in (
        lambda: ratio_error(bad, D(1), D("0.1")),
        lambda: ratio_error(D(1), bad, D("0.1")),
        lambda: ratio_error(D(1), D(1), bad),
        lambda: least_batch(ratio, bad, D("0.05")),
        lambda: least_batch(ratio, D(1), bad),
        lambda: in_whole_steps(D(1), bad),
    ):
        with pytest.raises(ValueError, match="above zero"):
            call()


def test_a_part_of_half_a_step_is_not_weighed() -> None:
    with pytest.raises(ValueError, match="larger than half a step"):
        ratio_error(D(10), D("0.5"), D(1))


def test_a_ratio_by_volume_is_not_weighed_out() -> None:
    with pytest.raises(ValueError, match="by weight"):
        least_batch(MixRatio(D(2), D(1), "volume"), D(1), D("0.05"))


@given(st.decimals(D("0.001"), D(10_000), places=3), steps)
def test_whole_steps_are_enough_and_not_one_too_many(amount: D, step: D) -> None:
    count = in_whole_steps(amount, step)
    assert (count - 1) * step < amount <= count * step


def test_the_second_cup_is_said_to_be_practice() -> None:
    assert "second clean cup" in DOUBLE_POT
    assert "common practice, no source" in DOUBLE_POT

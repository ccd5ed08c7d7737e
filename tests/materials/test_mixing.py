"""Mix ratios: weight and volume, deviation, and what to add while it is wet."""

import re
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from materials.mixing import (
    NEVER_CHANGE_THE_RATIO,
    Correction,
    MixRatio,
    correction,
    deviation,
    looks_swapped,
    loss_on,
    measured,
    mixed_density,
    split,
    to_weight,
)
from tests.published import published

D = Decimal
amounts = st.decimals(D("0.1"), D(10_000), places=1)
ratios = st.builds(MixRatio, amounts, amounts, st.just("weight"))
FIVE = D("0.05")
# Densities of the computed rows of tests/reference/mix_ratio.csv.
DENSITY_A, DENSITY_B = D("1.15"), D("0.98")


def by_volume(a: int, b: int = 1) -> MixRatio:
    return MixRatio(D(a), D(b), "volume")


def computed_weights() -> list[tuple[int, Decimal]]:
    row = published("mix_ratio", "Volume ratio to weight ratio")[0]
    [first] = re.findall(r"100 : ([\d.]+)", row["value"])
    others = re.findall(r"(\d):1 -> ([\d.]+)", row["note"])
    return [(2, D(first)), *((int(parts), D(value)) for parts, value in others)]


@pytest.mark.parametrize(("parts", "b"), computed_weights())
def test_a_volume_ratio_becomes_the_computed_weight_ratio(parts: int, b: Decimal) -> None:
    weight = to_weight(by_volume(parts), DENSITY_A, DENSITY_B)
    assert (weight.a, weight.by) == (100, "weight")
    assert weight.b == pytest.approx(b, abs=D("0.005"))


def test_a_total_is_split_as_computed() -> None:
    row = published("mix_ratio", "Batch split")[0]
    a, b = (D(figure) for figure in re.findall(r"[\d.]+", row["value"]))
    parts = split(D(200), to_weight(by_volume(2), DENSITY_A, DENSITY_B))
    assert round(parts.a, 2) == a
    assert round(parts.b, 2) == b


def test_the_density_of_a_mix_is_the_computed_one() -> None:
    [density] = re.findall(
        r"mixed density ([\d.]+)", published("mix_ratio", "Batch split")[0]["note"]
    )
    mixed = mixed_density(by_volume(2), DENSITY_A, DENSITY_B)
    assert mixed == pytest.approx(D(density), abs=D("5e-5"))
    assert mixed_density(to_weight(by_volume(2), DENSITY_A, DENSITY_B), DENSITY_A, DENSITY_B) == (
        pytest.approx(mixed, abs=D("1e-20"))
    )


def test_a_volume_ratio_weighed_out_is_17_percent_off() -> None:
    row = published("mix_ratio", "Volume ratio wrongly used as weight")[0]
    off = deviation(
        measured(D(100), D(50), "weight"), to_weight(by_volume(2), DENSITY_A, DENSITY_B)
    )
    assert f"{off * 100:+.1f}" in row["value"]


def test_the_warning_against_changing_the_ratio_names_its_source() -> None:
    row = published("mix_ratio", "Do not change the ratio")[0]
    assert row["status"] == "confirmed"
    assert row["source"].split(",")[0].removesuffix(" (1998)") in NEVER_CHANGE_THE_RATIO


def test_100_g_and_33_g_are_exactly_100_to_33() -> None:
    wanted = MixRatio(D(100), D(33), "weight")
    assert deviation(measured(D(100), D(33), "weight"), wanted) == 0
    assert correction(D(100), D(33), wanted) is None
    assert str(wanted) == "100 : 33 by weight"


def test_too_much_b_is_put_right_with_a() -> None:
    wanted = MixRatio(D(100), D(33), "weight")
    assert correction(D(100), D(66), wanted) == Correction("a", D(100))


def test_too_little_b_is_put_right_with_b() -> None:
    wanted = MixRatio(D(2), D(1), "volume")
    assert correction(D(100), D(30), wanted) == Correction("b", D(20))


def test_scenario_2_swapped_cups_are_three_hundred_percent_off() -> None:
    wanted = by_volume(2)
    assert deviation(measured(D(50), D(100), "volume"), wanted) == 3
    assert looks_swapped(D(50), D(100), wanted, FIVE)


def test_scenario_3_six_ounces_and_73_grams_fit_100_to_43() -> None:
    wanted = MixRatio(D(100), D(43), "weight")
    assert abs(deviation(measured(D("170.1"), D(73), "weight"), wanted)) < D("0.002")


def test_one_to_one_never_looks_swapped() -> None:
    assert not looks_swapped(D(100), D(120), MixRatio(D(1), D(1), "volume"), FIVE)


def test_a_wrong_ratio_both_ways_round_does_not_look_swapped() -> None:
    assert not looks_swapped(D(100), D(90), by_volume(2), FIVE)


def test_weight_is_not_compared_with_volume() -> None:
    with pytest.raises(ValueError, match="not compared"):
        deviation(measured(D(2), D(1), "weight"), by_volume(2))


def test_a_tenth_left_in_the_cup_asks_for_a_ninth_more() -> None:
    assert loss_on(D(90), D(10)) == 10
    assert loss_on(D(90), D(0)) == loss_on(D(0), D(10)) == 0


@pytest.mark.parametrize("bad", [D(-1), D(100), D(101), D("NaN"), D("Infinity")])
def test_a_loss_of_all_is_refused(bad: Decimal) -> None:
    with pytest.raises(ValueError, match="from 0 % to below 100 %"):
        loss_on(D(1), bad)


@pytest.mark.parametrize("bad", [D(-1), D("NaN"), D("Infinity")])
def test_a_loss_on_less_than_nothing_is_refused(bad: Decimal) -> None:
    with pytest.raises(ValueError, match="zero or more"):
        loss_on(bad, D(10))


def test_a_weight_ratio_is_not_turned_into_weight_again() -> None:
    with pytest.raises(ValueError, match="by volume"):
        to_weight(MixRatio(D(2), D(1), "weight"), D(1), D(1))


@pytest.mark.parametrize("bad", [D(0), D(-1), D("NaN"), D("Infinity")])
def test_nothing_and_less_is_refused(bad: Decimal) -> None:
    wanted = by_volume(2)
    for call in (
        lambda: MixRatio(bad, D(1), "weight"),
        lambda: to_weight(wanted, bad, D(1)),
        lambda: mixed_density(wanted, D(1), bad),
        lambda: mixed_density(MixRatio(D(2), D(1), "weight"), bad, D(1)),
        lambda: measured(D(1), bad, "weight"),
        lambda: correction(D(1), bad, wanted),
        lambda: split(bad, wanted),
    ):
        with pytest.raises(ValueError, match="above zero"):
            call()


@given(amounts, amounts, ratios)
def test_adding_the_correction_makes_the_ratio_right(
    a: Decimal, b: Decimal, ratio: MixRatio
) -> None:
    add = correction(a, b, ratio)
    if add is None:
        assert deviation(measured(a, b, "weight"), ratio) == pytest.approx(0, abs=D("1e-20"))
        return
    assert add.amount > 0
    right = (a + add.amount, b) if add.part == "a" else (a, b + add.amount)
    assert abs(deviation(measured(*right, "weight"), ratio)) < D("1e-20")


@given(amounts, amounts, ratios)
def test_more_b_than_wanted_is_a_deviation_above_zero(
    a: Decimal, b: Decimal, ratio: MixRatio
) -> None:
    off = deviation(measured(a, b, "weight"), ratio)
    assume(abs(off) > D("1e-20"))
    assert (off > 0) == (b * ratio.a > a * ratio.b)
    assert off > -1


@given(st.decimals(D("0.001"), D(10**6), places=3), ratios)
def test_the_two_parts_of_a_total_add_up_to_it(total: Decimal, ratio: MixRatio) -> None:
    parts = split(total, ratio)
    assert abs(parts.a + parts.b - total) < D("1e-18")
    assert parts.b >= 0


@given(ratios, st.integers(1, 50))
def test_amounts_changed_over_look_swapped_unless_the_parts_are_nearly_equal(
    ratio: MixRatio, times: int
) -> None:
    straight = looks_swapped(ratio.a * times, ratio.b * times, ratio, FIVE)
    crossed = looks_swapped(ratio.b * times, ratio.a * times, ratio, FIVE)
    assert not straight
    assert crossed == (abs((ratio.a / ratio.b) ** 2 - 1) > FIVE)


densities = st.decimals(D("0.3"), D(3), places=2)


@given(ratios, densities, densities)
def test_weights_over_densities_are_the_volumes_again(ratio: MixRatio, a: D, b: D) -> None:
    weight = to_weight(MixRatio(ratio.a, ratio.b, "volume"), a, b)
    assert (weight.b / b) / (weight.a / a) == pytest.approx(ratio.b / ratio.a, rel=D("1e-20"))


@given(ratios, densities, densities)
def test_a_mix_is_no_lighter_and_no_heavier_than_its_parts(ratio: MixRatio, a: D, b: D) -> None:
    mixed = mixed_density(ratio, a, b)
    assert min(a, b) - D("1e-20") <= mixed <= max(a, b) + D("1e-20")


@given(amounts, st.decimals(D(0), D("99.9"), places=1))
def test_what_is_left_after_the_loss_is_what_was_wanted(net: D, pct: D) -> None:
    mixed = net + loss_on(net, pct)
    assert mixed * (100 - pct) / 100 == pytest.approx(net, rel=D("1e-20"))

"""Discount factors against published tables, an independent library, and their limits."""

import math
import re

import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.life_cycle.discounting import (
    equivalent_annual,
    nominal_rate,
    present_value,
    real_rate,
    spv,
    uniform_recovery,
    upv,
    upv_escalating,
)
from tests.published import published

rates = st.floats(-0.1, 0.5)
years = st.integers(1, 100)


def numbers(text: str) -> list[float]:
    return [float(each) for each in re.findall(r"-?\d+(?:\.\d+)?", text)]


def rate_and_years(row: dict[str, str]) -> tuple[float, int]:
    percent, count = numbers(row["inputs"])
    return percent / 100, int(count)


# Published


def test_the_factors_of_nistir_85_3273_table_a_1() -> None:
    """Confirmed at second hand: a test suite that names the table."""
    [single] = published("discount_factors", "SPV factor")
    [uniform] = published("discount_factors", "UPV factor")
    assert spv(*rate_and_years(single)) == pytest.approx(numbers(single["value"])[0], abs=1e-6)
    assert upv(*rate_and_years(uniform)) == pytest.approx(numbers(uniform["value"])[0], abs=1e-5)


@pytest.mark.parametrize("row", published("discount_factors", "P/F"), ids=lambda row: row["inputs"])
def test_the_interest_tables_of_an_engineering_textbook(row: dict[str, str]) -> None:
    """Confirmed: read directly, four digits."""
    rate, count = rate_and_years(row)
    ours = [
        spv(rate, count), upv(rate, count), uniform_recovery(rate, count),
        upv(rate, count) / spv(rate, count),
    ]  # fmt: skip
    for mine, printed in zip(ours, numbers(row["value"]), strict=False):
        assert mine == pytest.approx(printed, abs=0.00005)


def test_the_example_of_nist_handbook_135() -> None:
    """The five present values and their sum are confirmed at second hand, the amounts behind
    them are from memory; its factors have three or four digits, hence 0.1 %. The energy factor
    15.13 is the handbook's own for a fuel, and is taken as given."""
    [total] = published("life_cycle", "LCC example, base case")
    replaced, left, energy, upkeep = (
        numbers(each)[0] for each in
        published("life_cycle", "LCC example, underlying")[0]["value"].split(";")
    )  # fmt: skip
    ours = 12_000 * spv(0.03, 12), 3_500 * spv(0.03, 20), 7_000 * upv(0.03, 20)
    assert ours == pytest.approx((replaced, left, upkeep), rel=0.001)
    whole = 103_000 + ours[0] - ours[1] + energy + ours[2]
    assert whole == pytest.approx(float(total["value"]), rel=0.001)
    assert energy == 20_000 * 15.13


def test_the_other_system_of_that_example() -> None:
    """From memory."""
    [row] = published("life_cycle", "LCC example, alternative")
    later = 12_500 * spv(0.03, 12) - 3_700 * spv(0.03, 20) + 8_000 * upv(0.03, 20)
    assert 110_000 + later + 13_000 * 15.13 == pytest.approx(float(row["value"]), rel=0.001)


def test_the_present_value_at_a_published_rate_of_return_is_nothing() -> None:
    """Confirmed: a test suite that quotes NIST."""
    [row] = published("discount_factors", "IRR")
    flows = enumerate(numbers(row["inputs"]))
    assert present_value(flows, numbers(row["value"])[0]) == pytest.approx(0, abs=10)


# Computed elsewhere


@pytest.mark.parametrize(
    "row", published("discount_factors", "SPV ; UPV"), ids=lambda row: row["inputs"]
)
def test_the_computed_factors(row: dict[str, str]) -> None:
    assert (spv(*rate_and_years(row)), upv(*rate_and_years(row))) == pytest.approx(
        tuple(numbers(row["value"])), abs=0.00005
    )


@pytest.mark.parametrize("row", published("discount_factors", "UPV*"))
def test_the_computed_factors_of_a_dearer_payment_each_year(row: dict[str, str]) -> None:
    rate, rise, *counts = numbers(row["inputs"])
    ours = [upv_escalating(rate / 100, rise / 100, count) for count in counts]
    assert ours == pytest.approx(numbers(row["value"]), abs=0.00005)


def test_a_row_of_the_library_s_own_tests() -> None:
    [row] = published("discount_factors", "numpy-financial")
    assert -12_000 * upv(0.07, 20) == pytest.approx(numbers(row["value"])[0], abs=0.005)


def test_the_computed_equivalent_annual_costs() -> None:
    [row] = published("life_cycle", "Equivalent annual cost")
    ours = equivalent_annual(850, 0.035, 8), equivalent_annual(2400, 0.035, 30)
    assert ours == pytest.approx(numbers(row["value"]), abs=0.005)


@given(rates.filter(lambda rate: abs(rate) > 1e-6), years)
def test_the_factors_are_those_of_numpy_financial(rate: float, count: int) -> None:
    assert spv(rate, count) == pytest.approx(-npf.pv(rate, count, 0, 1), rel=1e-9)
    assert upv(rate, count) == pytest.approx(-npf.pv(rate, count, 1), rel=1e-6)
    assert uniform_recovery(rate, count) == pytest.approx(-npf.pmt(rate, count, 1), rel=1e-6)


@given(rates, st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40))
def test_a_present_value_is_that_of_numpy_financial(rate: float, amounts: list[float]) -> None:
    ours = present_value(enumerate(amounts), rate)
    assert ours == pytest.approx(float(npf.npv(rate, amounts)), rel=1e-9, abs=1e-3)


# Limits and properties


@pytest.mark.parametrize("rate", [0.0, 1e-15, -1e-15, 1e-13, 1e-9])
def test_without_a_rate_a_year_is_a_year(rate: float) -> None:
    assert upv(rate, 25) == pytest.approx(25, rel=1e-6)
    assert uniform_recovery(rate, 25) == pytest.approx(1 / 25, rel=1e-6)
    assert upv_escalating(0.03, 0.03 + rate, 25) == pytest.approx(25, rel=1e-6)


@given(rates, years)
def test_a_yearly_payment_is_the_sum_of_single_ones(rate: float, count: int) -> None:
    assert upv(rate, count) == pytest.approx(sum(spv(rate, n + 1) for n in range(count)), rel=1e-9)


@given(rates, rates, years)
def test_a_dearer_payment_each_year_is_the_sum_of_single_ones(
    rate: float, rise: float, count: int
) -> None:
    each = ((1 + rise) ** n * spv(rate, n) for n in range(1, count + 1))
    assert upv_escalating(rate, rise, count) == pytest.approx(math.fsum(each), rel=1e-6)


@given(rates, st.floats(-0.1, 0.3))
def test_real_and_nominal_rates_undo_each_other(real: float, rise: float) -> None:
    nominal = nominal_rate(real, rise)
    if -0.1 <= nominal <= 0.5:
        assert real_rate(nominal, rise) == pytest.approx(real, abs=1e-12)


@given(rates, st.floats(-0.1, 0.1), st.floats(0, 100))
def test_real_with_real_is_nominal_with_nominal(real: float, rise: float, when: float) -> None:
    """The consistency rule of NIST Handbook 135."""
    nominal = nominal_rate(real, rise)
    if -0.1 <= nominal <= 0.5:
        in_its_own_money = (1 + rise) ** when
        assert in_its_own_money * spv(nominal, when) == pytest.approx(spv(real, when), rel=1e-9)


@pytest.mark.parametrize("rate", [math.nan, math.inf, -0.11, 0.51, 3.5])
def test_a_rate_out_of_range_is_refused_with_the_range(rate: float) -> None:
    for factor in (spv, upv, uniform_recovery):
        with pytest.raises(ValueError, match="from −10 % to 50 %"):
            factor(rate, 10)


@pytest.mark.parametrize("count", [math.nan, math.inf, -1, 1001])
def test_years_out_of_range_are_refused_with_the_range(count: float) -> None:
    for factor in (spv, upv, uniform_recovery):
        with pytest.raises(ValueError, match="from 0 to 1,000"):
            factor(0.03, count)


def test_nothing_is_spread_over_no_years() -> None:
    with pytest.raises(ValueError, match="more than 0 years"):
        uniform_recovery(0.03, 0)

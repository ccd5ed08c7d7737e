"""Arrhenius and the ten-degree rule: what is published, computed rows, and limit cases."""

import math
import re
from decimal import Decimal

import numpy as np
import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from materials.rates import (
    ARRHENIUS,
    GAS_CONSTANT,
    TYPICAL,
    arrhenius,
    energy_of,
    ten_degree,
)
from tests.published import published

temperatures = st.floats(-40, 100)
energies = st.floats(10, 200)
BAD = [-40.1, 100.1, math.nan, math.inf, -math.inf]


def figures(text: str) -> list[float]:
    return [float(figure) for figure in re.findall(r"[\d.]+", text)]


def test_the_gas_constant_is_that_of_the_si() -> None:
    """Independent: the CODATA value that scipy carries."""
    assert pytest.approx(scipy.constants.R, rel=1e-9) == GAS_CONSTANT


@pytest.mark.parametrize("row", published("cure_rate", "Rate factor relative"))
def test_a_factor_by_arrhenius_is_the_computed_one(row: dict[str, str]) -> None:
    """Computed with the same formula, outside of this project: a regression value."""
    energy, celsius = figures(row["inputs"])
    assert arrhenius(celsius, 20, energy) == pytest.approx(float(row["value"]), abs=6e-5)


@pytest.mark.parametrize("row", published("cure_rate", "Rate factor, 10-degree"))
def test_a_factor_by_the_ten_degree_rule_is_the_computed_one(row: dict[str, str]) -> None:
    [celsius] = figures(row["inputs"])
    assert ten_degree(celsius, 20) == pytest.approx(float(row["value"]), abs=6e-5)


def test_the_rule_is_an_energy_of_51_near_room_temperature_and_less_in_the_cold() -> None:
    [row] = published("arrhenius", "Arrhenius equivalent")
    found = re.findall(r"(\d+)-(\d+) degC: ([\d.]+)", row["value"])
    assert len(found) == 3
    for low, high, energy in found:
        assert arrhenius(float(high), float(low), float(energy)) == pytest.approx(2, abs=3e-4)


def test_the_typical_band_lies_within_the_published_energies() -> None:
    """Published: 55 to 60 for primary amine and epoxy; 54 to 92 for gelation. The band reaches
    down to 50, which is the ten-degree rule's own."""
    [amine] = published("arrhenius", "Activation energy, primary amine")
    low, high = figures(amine["value"])
    [gelation] = published("arrhenius", "Activation energy of gelation")
    assert (TYPICAL.middle, TYPICAL.high) == (low, high)
    assert figures(gelation["value"])[0] <= TYPICAL.middle


def test_two_ways_to_measure_one_resin_differ_by_less_than_the_band_of_a_sheet() -> None:
    [row] = published("arrhenius", "Activation energy, DGEBA/m-PDA")
    one, other = (float(figure) for figure in re.findall(r"[\d.]+", row["value"]))
    own = energy_of((one + other) / 2)
    assert own.low <= one < other <= own.high


def test_the_sheets_own_energy_goes_before_the_typical_one() -> None:
    assert energy_of(None) == TYPICAL
    own = energy_of(Decimal("62.5"))
    assert (own.low, own.middle, own.high, own.source) == (57.5, 62.5, 67.5, "data sheet")
    assert energy_of(10).low == 10
    assert energy_of(200).high == 200


@pytest.mark.parametrize("bad", [0, -55, 9.9, 200.1, math.nan, math.inf])
def test_an_energy_that_no_resin_has_is_refused(bad: float) -> None:
    for call in (lambda: energy_of(bad), lambda: arrhenius(20, 20, bad)):
        with pytest.raises(ValueError, match="from 10 to 200 kJ/mol"):
            call()


@pytest.mark.parametrize("bad", BAD)
def test_a_temperature_out_of_range_is_refused(bad: float) -> None:
    for call in (
        lambda: arrhenius(bad, 20, 55),
        lambda: arrhenius(20, bad, 55),
        lambda: ten_degree(bad, 20),
        lambda: ten_degree(20, bad),
        lambda: arrhenius(np.array([20.0, bad]), 20, 55),
    ):
        with pytest.raises(ValueError, match="from −40 to 100 °C"):
            call()


@given(temperatures, temperatures, energies)
def test_warmer_is_faster_and_the_reference_is_one(one: float, other: float, energy: float) -> None:
    assert arrhenius(one, one, energy) == 1
    assert ten_degree(one, one) == 1
    if one < other:
        assert arrhenius(one, other, energy) <= 1 <= arrhenius(other, one, energy)
        assert ten_degree(one, other) <= 1 <= ten_degree(other, one)


@given(temperatures, temperatures, energies)
def test_there_and_back_is_one(one: float, other: float, energy: float) -> None:
    assert arrhenius(one, other, energy) * arrhenius(other, one, energy) == pytest.approx(1)
    assert ten_degree(one, other) * ten_degree(other, one) == pytest.approx(1)


@given(temperatures, temperatures, temperatures, energies)
def test_a_stop_on_the_way_changes_nothing(a: float, b: float, c: float, energy: float) -> None:
    whole = arrhenius(a, c, energy)
    assert arrhenius(a, b, energy) * arrhenius(b, c, energy) == pytest.approx(whole)


@given(temperatures, temperatures, energies, energies)
def test_a_higher_energy_makes_more_of_a_difference(
    celsius: float, reference: float, one: float, other: float
) -> None:
    less, more = sorted((one, other))
    assert abs(math.log(arrhenius(celsius, reference, less))) <= (
        abs(math.log(arrhenius(celsius, reference, more))) + 1e-12
    )


@given(st.lists(temperatures, max_size=30), temperatures, energies)
def test_a_series_is_its_single_values(
    series: list[float], reference: float, energy: float
) -> None:
    found = arrhenius(np.array(series), reference, energy)
    assert found.shape == (len(series),)
    assert list(found) == pytest.approx([arrhenius(each, reference, energy) for each in series])
    assert list(ten_degree(np.array(series), reference)) == pytest.approx(
        [ten_degree(each, reference) for each in series]
    )


def test_a_single_value_is_a_plain_number_also_from_a_decimal() -> None:
    assert type(arrhenius(Decimal("20.5"), Decimal(20), Decimal(55))) is float
    assert ARRHENIUS.symbols.startswith("k / k_ref")

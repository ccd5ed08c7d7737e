"""Equilibrium moisture content against the printed table, and by the equation's other form."""

import math
import re
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.wood_water import EMC, HIGHEST_C, LOWEST_C, beyond_table, emc_pct
from tests.published import published

airs = st.floats(LOWEST_C, HIGHEST_C)
humidities = st.floats(0, 100)
PRINTED_TO_A_TENTH = 0.06


def points(quantity: str) -> list[tuple[float, float, float]]:
    """Air in °C, humidity in % and the value of the rows of a kind."""
    found = []
    for row in published("emc", quantity):
        air = re.search(r"T = (-?[\d.]+)|\((-?[\d.]+) degC\)", f"{row['inputs']} {row['quantity']}")
        humidity = re.search(r"RH = (\d+)", row["inputs"])
        assert air is not None
        assert humidity is not None
        found.append((float(air[1] or air[2]), float(humidity[1]), float(row["value"])))
    return found


# Published (the table as transcribed by others; several agree).
@pytest.mark.parametrize(("air", "humidity", "printed"), points("EMC, published table point"))
def test_it_is_the_printed_table(air: float, humidity: float, printed: float) -> None:
    assert emc_pct(air, humidity) == pytest.approx(printed, abs=PRINTED_TO_A_TENTH)


# From memory: the rest of two rows of the same table.
@pytest.mark.parametrize(("air", "humidity", "recalled"), points("EMC, table row"))
def test_it_is_the_table_as_recalled(air: float, humidity: float, recalled: float) -> None:
    assert emc_pct(air, humidity) == pytest.approx(recalled, abs=PRINTED_TO_A_TENTH)


# Computed with the same equation, apart: a slip of the code shows, an error of the source not.
@pytest.mark.parametrize(("air", "humidity", "computed"), points("EMC, equation value"))
def test_it_is_the_equation_worked_out_apart(air: float, humidity: float, computed: float) -> None:
    assert emc_pct(air, humidity) == pytest.approx(computed, abs=0.001)


def test_the_table_prints_17_9_where_the_equation_gives_17_95() -> None:
    assert emc_pct(21.1, 85) == pytest.approx(17.952, abs=0.001)


# Published: spruce and pine at 20 °C and 65 % (secondary).
def test_usual_wood_in_usual_air() -> None:
    low, high = published("emc", "Wood at 20 degC")[0]["value"].split("-")
    assert float(low) - 0.01 <= emc_pct(20, 65) <= float(high)


# Limit case: saturated air holds wood near its fibre saturation, and the figure stays finite.
def test_saturated_air_is_near_fibre_saturation() -> None:
    assert emc_pct(20, 100) == pytest.approx(float(published("emc", "EMC at RH")[0]["value"]), 0.01)
    assert emc_pct(20, 0) == 0


def in_fahrenheit(air_f: float, humidity_pct: float) -> float:
    """The equation with the coefficients published for °F, read from the file."""
    terms = {}
    for name in ("W", "K", "K1", "K2"):
        row = published("emc", f"EMC coefficient {name}(T) in degF")[0]
        a, b, c = (float(each.replace(" ", "")) for each in _terms(row["value"]))
        terms[name] = a + b * air_f + c * air_f**2
    h, k = humidity_pct / 100, terms["K"]
    first, second = terms["K1"] * k * h, terms["K1"] * terms["K2"] * (k * h) ** 2
    return float(
        1800 / terms["W"] * (k * h / (1 - k * h) + (first + 2 * second) / (1 + first + second))
    )


def _terms(written: str) -> list[str]:
    found = re.match(r"(-?[\d.]+) ([+-] [\d.]+) T ([+-] [\d.]+) T\^2", written)
    assert found is not None
    return list(found.groups())


@given(airs, st.floats(5, 95))
def test_both_published_sets_of_coefficients_agree(air: float, humidity: float) -> None:
    """They were rounded apart, which shows in hot damp air; up to 40 °C they agree to 0.05."""
    apart = abs(emc_pct(air, humidity) - in_fahrenheit(air * 1.8 + 32, humidity))
    assert apart <= (0.05 if air <= 40 else 0.15)


@given(airs, st.floats(0, 99))
def test_damper_air_means_wetter_wood(air: float, humidity: float) -> None:
    assert emc_pct(air, humidity + 1) > emc_pct(air, humidity)


@given(airs, humidities)
def test_it_is_never_below_nothing_nor_above_thirty(air: float, humidity: float) -> None:
    assert 0 <= emc_pct(air, humidity) < 31


@given(st.lists(st.tuples(airs, humidities), min_size=1, max_size=20))
def test_a_year_of_hours_is_each_hour_alone(pairs: list[tuple[float, float]]) -> None:
    air, humidity = np.array([each[0] for each in pairs]), np.array([each[1] for each in pairs])
    together = emc_pct(air, humidity)
    assert together.shape == air.shape
    assert list(together) == pytest.approx([emc_pct(*each) for each in pairs])


def test_figures_as_they_are_typed_will_do() -> None:
    assert emc_pct(Decimal(20), Decimal(65)) == emc_pct(20.0, 65.0)


@pytest.mark.parametrize(
    ("air", "humidity"),
    [(-1.2, 50), (133, 50), (20, -0.1), (20, 100.1), (math.nan, 50), (20, math.inf)],
)
def test_out_of_range_there_is_no_figure(air: float, humidity: float) -> None:
    with pytest.raises(ValueError, match=r"from .* to .*"):
        emc_pct(air, humidity)
    with pytest.raises(ValueError, match=r"from .* to .*"):
        emc_pct(np.array([20.0, air]), np.array([50.0, humidity]))


def test_an_empty_year_has_no_figures() -> None:
    assert emc_pct(np.array([]), np.array([])).size == 0


@pytest.mark.parametrize(
    ("humidity", "beyond"), [(4, True), (5, False), (95, False), (Decimal(96), True)]
)
def test_beyond_the_table_it_says_so(humidity: float, beyond: bool) -> None:
    assert beyond_table(humidity) is beyond
    assert "from 5 to 95 %" in EMC.holds

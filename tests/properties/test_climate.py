"""Dew point against psychrolib, and the 3 K rule."""

import re
from decimal import Decimal
from pathlib import Path

import numpy as np
import psychrolib
import pvlib
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from properties.climate import DEW_MARGIN_K, DEW_MARGIN_SOURCE, dew_margin, dew_point_c
from tests.published import published


def computed_dew_points() -> list[tuple[float, float, float]]:
    """Air, humidity and dew point; the rows in °F are turned into °C."""
    found = []
    for row in published("dew_point", "Dew point"):
        air, humidity = (float(figure) for figure in re.findall(r"= ([\d.]+)", row["inputs"]))
        dew = float(row["value"])
        if row["unit"] == "degF":
            air, dew = (air - 32) / 1.8, (dew - 32) / 1.8
        found.append((air, humidity, dew))
    return found


@pytest.mark.parametrize(("air", "humidity", "dew"), computed_dew_points())
def test_the_dew_point_is_that_of_psychrolib(air: float, humidity: float, dew: float) -> None:
    assert dew_point_c(air, humidity) == pytest.approx(dew, abs=0.03)


@given(st.floats(0.5, 40), st.floats(30, 95))
def test_it_agrees_with_psychrolib_wherever_no_frost_forms(air: float, humidity: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    dew = psychrolib.GetTDewPointFromRelHum(air, humidity / 100)
    assume(dew > 0)
    assert dew_point_c(air, humidity) == pytest.approx(dew, abs=0.03)


# Published (secondary), read off a chart.
def test_the_handbooks_first_example_to_half_a_degree() -> None:
    row = published("dew_point", "ASHRAE example 1")[0]
    dew, humidity = (float(each) for each in re.findall(r"(?:Td|RH) = (\d+)", row["value"]))
    assert dew_point_c(40, humidity) == pytest.approx(dew, abs=0.5)


# Computed with Magnus before, from a real file that holds all three, where no frost forms; single
# hours of it contradict themselves, so that quantiles are held to and not the worst.
def test_a_year_of_real_hours_is_met_to_a_quarter_of_a_kelvin() -> None:
    row = published("dew_point", "Real-data check")[0]["value"]
    found = re.search(r"Greensboro TMY3: p50 ([\d.]+), p95 ([\d.]+), p99 ([\d.]+) K", row)
    assert found is not None
    file = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    year, _ = pvlib.iotools.read_tmy3(file, map_variables=True)
    hours = zip(year["temp_air"], year["relative_humidity"], year["temp_dew"], strict=True)
    apart = [abs(dew_point_c(air, humidity) - dew) for air, humidity, dew in hours if dew > 0]
    quantiles = np.quantile(apart, [0.5, 0.95, 0.99])
    assert list(quantiles) == pytest.approx([float(each) for each in found.groups()], abs=0.001)


@pytest.mark.parametrize(
    ("air", "humidity", "dew"), [(12, 88, 10.1), (18, 75, 13.5), (20, 65, 13.2), (8, 92, 6.8)]
)
def test_known_pairs_to_a_tenth(air: int, humidity: int, dew: float) -> None:
    assert round(dew_point_c(air, humidity), 1) == dew


def test_scenario_15_a_surface_of_11_is_too_near_the_dew_and_14_is_clear() -> None:
    near = dew_margin(Decimal(12), Decimal(88), Decimal(11))
    assert (round(near.dew_point_c, 1), round(near.margin_k, 1)) == (10.1, 0.9)
    assert not near.enough
    clear = dew_margin(Decimal(12), Decimal(88), Decimal(14))
    assert round(clear.margin_k, 1) == 3.9
    assert clear.enough


def test_three_kelvin_above_is_just_enough() -> None:
    least = dew_margin(20, 65, 20).least_surface_c
    assert dew_margin(20, 65, least).enough
    assert not dew_margin(20, 65, least - 0.01).enough


def test_three_kelvin_are_5_4_degrees_fahrenheit_and_not_5() -> None:
    row = published("dew_point", "Difference conversion")[0]
    assert pytest.approx(float(row["value"])) == DEW_MARGIN_K * 1.8
    assert "5.4 °F" in DEW_MARGIN_SOURCE
    rule = published("dew_point", "Coating rule: surface above dew point")[0]
    assert rule["value"].startswith(f">= {DEW_MARGIN_K:g}")


@pytest.mark.parametrize(("air", "humidity"), [(-41, 50), (61, 50), (20, 0), (20, -1), (20, 101)])
def test_figures_out_of_range_are_refused(air: int, humidity: int) -> None:
    with pytest.raises(ValueError, match=r"°C|%"):
        dew_point_c(air, humidity)


@given(st.floats(-40, 60), st.floats(1, 100))
def test_the_dew_point_is_never_above_the_air(air: float, humidity: float) -> None:
    assert dew_point_c(air, humidity) <= air + 1e-9


@given(st.floats(-40, 60), st.floats(1, 99))
def test_more_humid_air_has_a_higher_dew_point(air: float, humidity: float) -> None:
    assert dew_point_c(air, humidity + 1) > dew_point_c(air, humidity)

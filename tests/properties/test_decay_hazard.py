"""The decay hazard index: from months, and from real hours of weather."""

import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pvlib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.decay_hazard import (
    DECAY_HAZARD,
    MONTHS,
    ONE_YEAR_IS_NOT_A_CLIMATE,
    decay_hazard,
    decay_hazard_f,
    level_of,
    normals_from_hours,
)
from properties.wood_water import emc_pct
from tests.published import published

DATA = Path(pvlib.__file__).parent / "data"
means = st.lists(st.floats(-60, 50), min_size=12, max_size=12)
days = st.lists(st.floats(0, 31), min_size=12, max_size=12)


def figures(text: str) -> list[float]:
    return [float(each) for each in re.findall(r"-?\d+(?:\.\d+)?", text)]


def listed(note: str, letter: str) -> list[float]:
    """The twelve figures that stand after `T = ` or `D = `."""
    found = re.search(rf"\b{letter} = ([-\d. ]+)", note)
    assert found is not None
    return figures(found[1])


def weather_of(name: str) -> Any:
    year, _ = pvlib.iotools.read_tmy3(DATA / name, map_variables=True)
    rain = year["Lprecip depth (mm)"].to_numpy(float)
    return year["temp_air"].to_numpy(float), np.where(rain < 0, np.nan, rain), year


# Computed from open weather data; no published value of a city was found.
@pytest.mark.parametrize("year", ["Seattle WA 2012", "Seattle WA mean 2012-2015"])
def test_seattle_by_both_forms(year: str) -> None:
    row = published("decay_hazard", f"Index recomputed, {year}")[0]
    celsius, fahrenheit = (
        float(found[1]) for found in re.finditer(r"deg[CF] form ([\d.]+)", row["value"])
    )
    mean, rain = listed(row["note"], "T"), listed(row["note"], "D")
    assert decay_hazard(mean, rain).index == pytest.approx(celsius, abs=0.02)
    in_f = decay_hazard_f([each * 1.8 + 32 for each in mean], rain)
    assert in_f.index == pytest.approx(fahrenheit, abs=0.02)
    assert (in_f.form, decay_hazard(mean, rain).form) == ("°F", "°C")


def test_a_dry_warm_month_counts_against_the_others() -> None:
    """Days less three may be negative; to floor them gives 54.15 for Seattle 2012, the wrong
    variant."""
    row = published("decay_hazard", "Index recomputed, Seattle WA 2012")[0]
    mean, rain = listed(row["note"], "T"), listed(row["note"], "D")
    floored = decay_hazard(mean, [max(each, 3) for each in rain]).index
    assert floored == pytest.approx(54.15, abs=0.02)
    assert decay_hazard(mean, rain).index < floored


# Computed with pvlib's reading of a real file: the oracle of the months, not of the formula.
def test_greensboro_from_a_year_of_hours() -> None:
    row = published("decay_hazard", "Index recomputed, Greensboro")[0]
    air, rain, year = weather_of("723170TYA.CSV")
    months = normals_from_hours(air, rain, year["relative_humidity"].to_numpy(float))
    assert list(months.rain_days) == listed(row["note"], "D")
    by_pandas = year["temp_air"].groupby(np.repeat(np.arange(12), _hours_of_months())).mean()
    assert list(months.mean_c) == pytest.approx(list(by_pandas))
    found = decay_hazard(months.mean_c, months.rain_days)
    assert found.index == pytest.approx(figures(row["value"])[0], abs=0.01)
    assert found.level == "moderate"


def _hours_of_months() -> list[int]:
    return [each * 24 for each in (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)]


# Computed: a regression value of the same equation.
def test_greensboro_keeps_wood_at_the_moisture_worked_out_before() -> None:
    air, rain, year = weather_of("723170TYA.CSV")
    months = normals_from_hours(air, rain, year["relative_humidity"].to_numpy(float))
    expected = figures(published("emc", "Monthly outdoor EMC")[0]["value"])
    for mean, humidity, emc in zip(months.mean_c, months.humidity_pct, expected, strict=True):
        assert humidity is not None
        assert emc_pct(mean, humidity) == pytest.approx(emc, abs=0.006)


def test_sand_point_has_no_rain_on_record_and_so_no_index() -> None:
    """Taken as dry it would come to -1.76 and be called low."""
    air, rain, _ = weather_of("703165TY.csv")
    months = normals_from_hours(air, rain)
    assert months.rain_days == (None,) * 12
    with pytest.raises(ValueError, match="the rain of January is not known, so there is no index"):
        decay_hazard(months.mean_c, months.rain_days)


# Published: the classes of the Whole Building Design Guide.
def test_the_classes_are_those_published() -> None:
    assert figures(published("decay_hazard", "Hazard classes")[0]["value"])[:3] == [35, 35, 65]
    assert [level_of(each) for each in (34.9, 35, 65, 65.1)] == [
        "low", "moderate", "moderate", "high",
    ]  # fmt: skip


# Published: indices above 100 exist, so nothing is capped.
def test_a_hundred_is_no_ceiling() -> None:
    assert "35 to 400" in published("decay_hazard", "Range of index at 7 US")[0]["value"]
    assert decay_hazard([27] * 12, [25] * 12).index > 300


def test_one_year_is_never_called_the_climate() -> None:
    row = published("decay_hazard", "Year-to-year")[0]
    assert "never quote one year as the climate" in row["note"]
    assert ONE_YEAR_IS_NOT_A_CLIMATE.startswith("Never quote one year as the climate")


def test_the_formula_says_how_the_two_forms_differ() -> None:
    assert "35 °F is 1.67 °C" in DECAY_HAZARD.holds


# Limit cases.
def test_frost_all_year_counts_as_nothing() -> None:
    assert decay_hazard([-10] * 12, [31] * 12).index == 0


@given(means, days)
def test_a_warmer_year_with_rain_is_never_less_hazardous(
    mean: list[float], rain: list[float]
) -> None:
    wet = [max(each, 3) for each in rain]
    here = decay_hazard(mean, wet).index
    assert decay_hazard([min(each + 1, 50) for each in mean], wet).index >= here - 1e-9


@given(means, days)
def test_both_forms_differ_by_no_more_than_a_third_of_a_degree_explains(
    mean: list[float], rain: list[float]
) -> None:
    """35 °F is a third of a degree below 2 °C, and 30 for 16.7 is 1.796 for 1.8."""
    celsius = decay_hazard(mean, rain).index
    fahrenheit = decay_hazard_f([each * 1.8 + 32 for each in mean], rain).index
    allowed = 12 * 28 / 3 / 16.7 + abs(celsius) * 0.005 + 12 * 50 * 28 * 0.0025 / 16.7
    assert abs(celsius - fahrenheit) <= allowed


@pytest.mark.parametrize(
    ("mean", "rain", "said"),
    [
        ([10] * 11, [10] * 11, "all twelve months"),
        ([10] * 12, [10] * 11 + [None], "rain of December is not known"),
        ([10] * 12, [math.nan] + [10] * 11, "rain of January is not known"),
        ([10] * 12, [32] + [10] * 11, "January: days with rain from 0 to 31"),
        ([10] * 12, [-1] + [10] * 11, "January: days with rain from 0 to 31"),
        ([math.nan] + [10] * 11, [10] * 12, "January: a mean from -60 to 50 °C"),
        ([math.inf] + [10] * 11, [10] * 12, "January: a mean from -60 to 50 °C"),
    ],
)
def test_what_is_missing_or_absurd_is_refused_in_words(
    mean: list[float], rain: list[float | None], said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        decay_hazard(mean, rain)


# From hours


def a_year(value: float, hours: int = 8760) -> Any:
    return np.full(hours, float(value))


def test_a_quarter_of_a_millimetre_in_a_day_is_a_day_of_rain() -> None:
    rain = a_year(0)
    rain[0:25:12] = 0.125  # two of them on 1 January, one on 2 January
    assert normals_from_hours(a_year(10), rain).rain_days[0] == 1


def test_tenths_that_add_up_to_the_limit_count_however_they_are_kept() -> None:
    rain = a_year(0).astype(np.float32)
    rain[0], rain[1], rain[2] = 0.1, 0.1, 0.05
    assert normals_from_hours(a_year(10), rain).rain_days[0] == 1


def test_a_leap_year_has_a_29th_of_february() -> None:
    rain = a_year(0.25, 8784)
    found = normals_from_hours(a_year(10, 8784), rain)
    assert list(found.rain_days) == [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    assert found.humidity_pct == (None,) * 12


def test_a_gap_of_a_day_is_bridged_and_one_of_a_week_is_not() -> None:
    rain = a_year(1)
    rain[:24] = np.nan
    assert normals_from_hours(a_year(10), rain).rain_days[0] == 30
    rain[: 24 * 7] = np.nan
    assert normals_from_hours(a_year(10), rain).rain_days[0] is None


@pytest.mark.parametrize("hours", [0, 24, 8759])
def test_part_of_a_year_is_not_a_year(hours: int) -> None:
    with pytest.raises(ValueError, match="8760 hours"):
        normals_from_hours(a_year(10, hours), None)


def test_columns_of_unlike_length_are_refused() -> None:
    with pytest.raises(ValueError, match="as many hours"):
        normals_from_hours(a_year(10), a_year(0, 24))


def test_unknown_air_is_refused() -> None:
    air = a_year(10)
    air[800:1000] = np.nan
    with pytest.raises(ValueError, match=f"temperature of {MONTHS[1]} is not known"):
        normals_from_hours(air, None)

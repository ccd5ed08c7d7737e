"""How hot a face gets: formula values, the grid computed apart, and limit cases."""

import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.surface_heat import (
    ABSORPTANCE,
    FILM_W_M2K,
    SOL_AIR,
    face_year,
    film_by_wind,
    hot_day_year,
    sol_air_c,
)
from tests.properties.weather_samples import GREENSBORO, SAND_POINT, year_of
from tests.published import published

Facts = dict[str, Any]

GRID = published("surface_temperature", "Grid")
PRINTED_TO_A_TENTH = 0.06
FACES = {"S vertical": (180, 90), "W vertical": (270, 90), "N vertical": (0, 90)}


def must_match(pattern: str, text: str) -> re.Match[str]:
    found = re.search(pattern, text)
    assert found is not None
    return found


def face_of(row: dict[str, str]):
    surface, alpha = must_match(r"([^;]+); alpha ([\d.]+)", row["inputs"]).groups()
    bearing, tilt = FACES.get(surface, (0, 0))
    name = GREENSBORO if "Greensboro" in row["quantity"] else SAND_POINT
    return face_year(
        year_of(name), bearing_deg=bearing, tilt_deg=tilt, absorptance=float(alpha), isotropic=True
    )


# Computed with the formula, apart.
@pytest.mark.parametrize("row", published("surface_temperature", "Sol-air value"))
def test_it_is_the_formula_worked_out_apart(row: dict[str, str]) -> None:
    if row["unit"] != "degC":
        air, ratio, sun, corr = (
            float(x)
            for x in must_match(
                r"to=(\d+) degF alpha/ho=([\d.]+) I=(\d+) \S+ ft2 corr=(\d+)", row["inputs"]
            ).groups()
        )
        found = sol_air_c(air, sun, ratio, 1.0, corr)
    else:
        air, alpha, sun, corr = (
            float(x)
            for x in must_match(
                r"to=(\d+) degC alpha=([\d.]+) I=(\d+) W/m2 ho=17 corr=(\d+)", row["inputs"]
            ).groups()
        )
        found = sol_air_c(air, sun, alpha, sky_loss_w_m2=corr * 17)
    assert found == pytest.approx(float(row["value"]), abs=0.01)


# Computed with an independent library (pvlib), isotropic sky; every month, the hour and the hours.
@pytest.mark.parametrize("row", GRID, ids=lambda row: f"{row['quantity']} {row['inputs'][:18]}")
def test_it_is_the_grid_computed_apart(row: dict[str, str]) -> None:
    year = face_of(row)
    assert year.highest_c == pytest.approx(float(row["value"]), abs=PRINTED_TO_A_TENTH)
    months = [float(x) for x in must_match(r"months ([-\d. ]+);", row["note"])[1].split()]
    assert list(year.monthly_highest_c) == pytest.approx(months, abs=PRINTED_TO_A_TENTH)
    assert year.hours_over[60] == int(must_match(r"over60 (\d+)", row["note"])[1])
    assert year.hours_over[50] == int(must_match(r"over50 (\d+)", row["note"])[1])
    _, day, hour = must_match(r"at \d+-(\d+)-(\d+) (\d+)", row["note"]).groups()
    assert year.at.startswith(f"{int(day)} ")
    assert year.at.endswith(f"to {int(hour)}:00")


# Published: the table of colours by absorptance.
@pytest.mark.parametrize(
    ("tone", "colour"),
    [("white", "off-white"), ("light", "light grey"), ("medium", "yellow"), ("dark", "slate")],
)
def test_each_tone_takes_a_colour_of_the_published_table(tone: str, colour: str) -> None:
    rows = [r for r in published("absorptance", "Solar absorptance") if colour in r["inputs"]]
    assert ABSORPTANCE[tone] == float(rows[0]["value"])


# Published: 3.0 Btu/h ft2 degF is 17.03 W/m²K.
def test_the_film_is_the_published_summer_value() -> None:
    row = published("surface_temperature", "ho summer")[0]
    assert pytest.approx(float(row["value"]) * 5.678263, abs=0.05) == FILM_W_M2K


# Published resistances of ISO 6946, Table A.2 (secondary), printed to a hundredth.
@pytest.mark.parametrize(("wind", "resistance"), [(1, 0.08), (2, 0.06), (3, 0.05), (4, 0.04)])
def test_the_film_by_wind_rounds_to_the_published_resistances(wind, resistance) -> None:
    assert round(1 / film_by_wind(wind), 2) == resistance


# Measured (published abstract): black and white shingles in Madison reached 68.2 and 59.1 °C.
def test_a_dark_level_face_is_as_hot_as_dark_roofs_were_measured_to_be() -> None:
    year = face_year(year_of(), bearing_deg=0, tilt_deg=20, absorptance=0.9)
    assert 68 < year.highest_c < 90


def test_a_dark_west_face_is_over_a_product_of_50() -> None:
    year = face_year(year_of(), bearing_deg=270, tilt_deg=90, absorptance=0.9, isotropic=True)
    assert 50 - year.highest_c == pytest.approx(-20.4, abs=0.06)


def test_a_calm_hour_is_hotter_than_a_light_wind() -> None:
    how: Facts = {"bearing_deg": 270, "tilt_deg": 90, "absorptance": 0.9}
    calm = face_year(year_of(), film_w_m2k=9, **how).highest_c
    assert face_year(year_of(), **how).highest_c < calm
    by_wind = face_year(year_of(), film_w_m2k=None, **how).highest_c
    assert by_wind <= calm + 1e-9


# Limit cases


def without(**columns: float):
    year = year_of()
    full: Facts = {name: np.full(8760, value) for name, value in columns.items()}
    return replace(year, **full)


def test_without_sun_the_face_is_as_warm_as_the_air() -> None:
    dark = without(ghi=0, dni=0, dhi=0)
    year = face_year(dark, bearing_deg=180, tilt_deg=90, absorptance=0.9)
    assert year.highest_c == pytest.approx(float(np.nanmax(dark.air_c)))


def test_a_level_face_under_a_clear_night_is_four_kelvin_colder() -> None:
    dark = without(ghi=0, dni=0, dhi=0, air_c=10)
    year = face_year(dark, bearing_deg=180, tilt_deg=0, absorptance=0.9)
    assert year.highest_c == pytest.approx(6)


def test_a_month_nobody_knows_has_no_figure() -> None:
    air = year_of().air_c.copy()
    air[: 31 * 24] = math.nan
    year = face_year(replace(year_of(), air_c=air), bearing_deg=180, tilt_deg=90, absorptance=0.9)
    assert year.monthly_highest_c[0] is None
    assert year.monthly_highest_c[1] is not None


def test_a_year_nobody_knows_is_refused() -> None:
    with pytest.raises(ValueError, match="no hour of the year is known"):
        face_year(without(air_c=math.nan), bearing_deg=180, tilt_deg=90, absorptance=0.9)


bearings, tilts = st.floats(0, 360), st.floats(0, 180)


@given(bearings, tilts)
def test_a_darker_finish_is_never_cooler(bearing: float, tilt: float) -> None:
    found = [
        face_year(year_of(), bearing_deg=bearing, tilt_deg=tilt, absorptance=each).highest_c
        for each in ABSORPTANCE.values()
    ]
    assert found == sorted(found)


@given(st.floats(-90, 90), st.floats(-60, 60), bearings, tilts, st.floats(0, 1))
def test_a_hot_day_warms_and_does_not_burn(
    latitude: float, air: float, bearing: float, tilt: float, absorptance: float
) -> None:
    year = hot_day_year(latitude, air, bearing_deg=bearing, tilt_deg=tilt, absorptance=absorptance)
    assert air - 4 <= year.highest_c <= air + 85
    assert year.hours_over[60] <= year.hours_over[50] <= 8760
    assert sum(each is None for each in year.monthly_highest_c) >= 4


def test_the_two_halves_of_the_globe_are_alike_but_for_the_distance_of_the_sun() -> None:
    north = hot_day_year(40, 30, bearing_deg=180, tilt_deg=90, absorptance=0.9)
    south = hot_day_year(-40, 30, bearing_deg=0, tilt_deg=90, absorptance=0.9)
    assert south.highest_c == pytest.approx(north.highest_c, abs=3)


@pytest.mark.parametrize(
    "wrong",
    [
        {"absorptance": 1.1},
        {"absorptance": math.nan},
        {"film_w_m2k": 0},
        {"film_w_m2k": math.nan},
        {"bearing_deg": 400},
        {"tilt_deg": -1},
        {"albedo": 2},
    ],
)
def test_out_of_range_there_is_no_figure(wrong: dict[str, float]) -> None:
    usual: Facts = {"bearing_deg": 180.0, "tilt_deg": 90.0, "absorptance": 0.5}
    with pytest.raises(ValueError, match=r"from|above"):
        face_year(year_of(), **{**usual, **wrong})


@pytest.mark.parametrize(("latitude", "air"), [(91, 30), (50, 61), (math.nan, 30), (50, math.nan)])
def test_a_hot_day_out_of_range_is_refused(latitude: float, air: float) -> None:
    with pytest.raises(ValueError, match="from"):
        hot_day_year(latitude, air, bearing_deg=180, tilt_deg=90, absorptance=0.5)


def test_the_formula_says_what_it_leaves_out() -> None:
    assert "calm air can be hotter" in SOL_AIR.holds

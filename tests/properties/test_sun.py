"""The sun's place, a clear sky and what falls on a face: published example, and pvlib."""

import math
from datetime import UTC, datetime

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
import pvlib
import pytest
from hypothesis import example as tried
from hypothesis import given
from hypothesis import strategies as st

from properties.sun import (
    Irradiance,
    clear_sky,
    extraterrestrial,
    incidence_cosine,
    on_face,
    sun_position,
)
from tests.properties.weather_samples import GREENSBORO, SAND_POINT, year_of
from tests.published import published

EPOCH = datetime(2000, 1, 1, 12, tzinfo=UTC)
EXAMPLE = datetime(2003, 10, 17, 19, 30, 30, tzinfo=UTC)
LATITUDE, LONGITUDE = 39.742476, -105.1786


def days(*at: datetime) -> np.ndarray:
    return np.array([(each - EPOCH).total_seconds() / 86400 for each in at])


def example():
    return sun_position(days(EXAMPLE), LATITUDE, LONGITUDE, pressure_hpa=820, air_c=11)


# Published: the example of NREL's solar position algorithm.
@pytest.mark.parametrize(
    ("quantity", "ours"),
    [
        ("NREL SPA example: topocentric zenith", lambda: example().apparent_zenith[0]),
        ("NREL SPA example: azimuth", lambda: example().azimuth[0]),
    ],
)
def test_it_is_the_published_example(quantity, ours) -> None:
    value = float(published("sun_position", quantity)[0]["value"])
    assert ours() == pytest.approx(value, abs=0.005)


# From memory: the same example's angle to a face of 30° tilt looking 170°.
def test_it_meets_a_tilted_face_as_in_the_example() -> None:
    value = float(published("sun_position", "NREL SPA example: incidence")[0]["value"])
    angle = math.degrees(math.acos(incidence_cosine(example(), 170, 30)[0]))
    assert angle == pytest.approx(value, abs=0.01)


# An independent library: pvlib's SPA over a hundred years and all latitudes.
@pytest.mark.parametrize("latitude", [-90, -66, -34, 0, 23.4, 51.5, 70, 90])
def test_it_agrees_with_an_independent_library(latitude: float) -> None:
    times = pd.date_range("1951-01-01", "2049-12-31", freq="997h", tz="UTC")
    theirs = pvlib.solarposition.get_solarposition(
        times, latitude, 13.4, altitude=0, pressure=101325, method="nrel_numpy"
    )
    n = (times - pd.Timestamp(EPOCH)) / pd.Timedelta(days=1)
    ours = sun_position(np.asarray(n), latitude, 13.4)
    assert np.abs(ours.zenith - theirs["zenith"].to_numpy()).max() < 0.02
    up = theirs["zenith"].to_numpy() < 89
    apart = np.abs(ours.apparent_zenith - theirs["apparent_zenith"].to_numpy())[up]
    assert apart.max() < 0.02
    turned = (ours.azimuth - theirs["azimuth"].to_numpy() + 180) % 360 - 180
    off = np.abs(turned) * np.sin(np.radians(theirs["zenith"].to_numpy()))
    if abs(latitude) < 90:  # at a pole every bearing is south or north
        assert off.max() < 0.02


def test_the_sun_above_the_air_agrees_with_an_independent_library() -> None:
    day = np.arange(1.0, 367.0)
    theirs = pvlib.irradiance.get_extra_radiation(day, method="spencer")
    assert extraterrestrial(day) == pytest.approx(np.asarray(theirs), rel=1e-4)


@pytest.mark.parametrize("altitude", [0, 273, 1830, 4000])
@pytest.mark.parametrize("turbidity", [2, 3, 5])
def test_a_clear_sky_agrees_with_an_independent_library(altitude: int, turbidity: int) -> None:
    zenith = np.linspace(0, 89.5, 300)
    mass = pvlib.atmosphere.get_absolute_airmass(
        pvlib.atmosphere.get_relative_airmass(zenith), pvlib.atmosphere.alt2pres(altitude)
    )
    theirs = pvlib.clearsky.ineichen(zenith, mass, turbidity, altitude, 1366.1)
    ours = clear_sky(zenith, np.full(300, 1366.1), altitude, turbidity)
    for name in ("ghi", "dni", "dhi"):
        assert getattr(ours, name) == pytest.approx(np.asarray(theirs[name]), rel=2e-3, abs=0.3)


@pytest.mark.parametrize("name", [GREENSBORO, SAND_POINT])
@pytest.mark.parametrize(("bearing", "tilt"), [(180, 90), (270, 90), (0, 90), (180, 10), (90, 45)])
def test_a_year_on_a_face_is_within_a_hundredth_of_an_independent_library(
    name: str, bearing: int, tilt: int
) -> None:
    year = year_of(name)
    hour = np.arange(8760.0)
    zone = f"Etc/GMT{-int(year.utc_offset_h):+d}"
    times = pd.date_range("1990-01-01 00:30", periods=8760, freq="h", tz=zone)
    position = pvlib.solarposition.get_solarposition(times, year.latitude, year.longitude)
    extra = pvlib.irradiance.get_extra_radiation(times)
    theirs = pvlib.irradiance.get_total_irradiance(
        tilt,
        bearing,
        position["apparent_zenith"],
        position["azimuth"],
        pd.Series(year.dni, times),
        pd.Series(year.ghi, times),
        pd.Series(year.dhi, times),
        dni_extra=extra,
        albedo=0.2,
        model="haydavies",
    )["poa_global"].fillna(0)
    sun = sun_position(
        -3652.5 + (hour + 0.5 - year.utc_offset_h) / 24, year.latitude, year.longitude
    )
    ours = on_face(
        sun,
        Irradiance(year.ghi, year.dni, year.dhi),
        extraterrestrial(hour // 24 + 1.0),
        bearing_deg=bearing,
        tilt_deg=tilt,
    )
    assert np.nansum(ours) == pytest.approx(theirs.sum(), rel=0.01)


# Limit cases

noon = st.integers(-18000, 18000)


@given(noon, st.floats(-90, 90), st.floats(-180, 180))
def test_the_sun_is_somewhere(day: int, latitude: float, longitude: float) -> None:
    sun = sun_position(np.array([day + 0.3]), latitude, longitude)
    assert 0 <= sun.zenith[0] <= 180
    assert 0 <= sun.azimuth[0] <= 360
    assert sun.apparent_zenith[0] <= sun.zenith[0] + 1e-9  # the air lifts it, never lowers it


@given(st.floats(0, 120), st.floats(-500, 6000), st.floats(1, 10))
@tried(0.0, 5787.0, 1.0)
def test_a_clear_sky_is_never_dark_below_nought_nor_above_the_sun(
    zenith: float, altitude: float, turbidity: float
) -> None:
    sky = clear_sky(np.array([zenith]), np.array([1366.1]), altitude, turbidity)
    assert 0 <= sky.dni[0] <= 1366.1
    assert -1e-6 <= sky.dhi[0] <= sky.ghi[0] + 1e-6
    if zenith >= 90:
        assert sky.ghi[0] == 0


@given(st.floats(0, 360), st.floats(0, 180))
def test_no_sun_means_nothing_on_any_face(bearing: float, tilt: float) -> None:
    sun = sun_position(np.array([0.0]), 50, 0)
    nought = np.zeros(1)
    on = on_face(
        sun,
        Irradiance(nought, nought, nought),
        np.array([1400.0]),
        bearing_deg=bearing,
        tilt_deg=tilt,
    )
    assert on[0] == 0


def test_level_ground_gets_what_the_file_says() -> None:
    sun = sun_position(np.array([0.0]), 50, 0)
    up = math.cos(math.radians(sun.apparent_zenith[0]))
    sky = Irradiance(np.array([500 * up + 100]), np.array([500.0]), np.array([100.0]))
    on = on_face(sun, sky, np.array([1400.0]), bearing_deg=0, tilt_deg=0)
    assert on[0] == pytest.approx(500 * up + 100)


@pytest.mark.parametrize(
    ("latitude", "longitude", "day"),
    [(91, 0, 0), (math.nan, 0, 0), (0, 181, 0), (0, 0, 40000), (0, 0, math.nan)],
)
def test_out_of_range_there_is_no_sun(latitude: float, longitude: float, day: float) -> None:
    with pytest.raises(ValueError, match=r"from .* to "):
        sun_position(np.array([day]), latitude, longitude)


@pytest.mark.parametrize(("bearing", "tilt"), [(-1, 90), (361, 90), (math.nan, 90), (0, 181)])
def test_a_face_off_the_compass_is_refused(bearing: float, tilt: float) -> None:
    with pytest.raises(ValueError, match=r"runs from 0 to"):
        incidence_cosine(example(), bearing, tilt)


@pytest.mark.parametrize(("altitude", "turbidity"), [(7000, 3), (math.nan, 3), (0, 0.5)])
def test_a_sky_out_of_range_is_refused(altitude: float, turbidity: float) -> None:
    with pytest.raises(ValueError, match="from"):
        clear_sky(np.array([30.0]), np.array([1366.0]), altitude, turbidity)

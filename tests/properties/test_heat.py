"""The stated surface temperature of a face."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.heat import (
    FULL_SUN_C,
    IN_SHADE_C,
    MARGIN_K,
    MARGIN_SOURCE,
    ExpectedSurface,
    expected_surface_c,
)

TONES = ["white", "light", "medium", "dark"]


def expected(tone: str, bearing: float | None, latitude: float | None = 51.5) -> ExpectedSurface:
    found = expected_surface_c(
        tone,
        None if bearing is None else Decimal(str(bearing)),
        None if latitude is None else Decimal(str(latitude)),
    )
    assert found is not None
    return found


def test_dark_in_full_sun_is_taken_at_the_top_of_60_to_80() -> None:
    assert expected("dark", 225).celsius == 80


def test_white_in_full_sun_is_taken_at_the_top_of_40_to_50() -> None:
    assert expected("white", 180).celsius == 50


@pytest.mark.parametrize("bearing", [0, 45, 315, 359.9])
def test_a_north_face_is_cooler(bearing: float) -> None:
    assert expected("dark", bearing).celsius == IN_SHADE_C["dark"]


@pytest.mark.parametrize("bearing", [45.1, 90, 180, 314.9])
def test_any_other_face_counts_as_full_sun(bearing: float) -> None:
    assert expected("dark", bearing).celsius == FULL_SUN_C["dark"]


def test_south_of_the_equator_the_south_face_is_the_cooler_one() -> None:
    assert expected("dark", 180, -36.8).celsius == IN_SHADE_C["dark"]
    assert expected("dark", 0, -36.8).celsius == FULL_SUN_C["dark"]


def test_a_bearing_not_known_counts_as_full_sun_and_says_so() -> None:
    face = expected("light", None, None)
    assert face.celsius == FULL_SUN_C["light"]
    assert "bearing not known" in face.basis


@pytest.mark.parametrize("tone", ["unknown", "", "purple"])
def test_a_tone_not_known_is_not_guessed(tone: str) -> None:
    assert expected_surface_c(tone, Decimal(180)) is None


@pytest.mark.parametrize("bearing", [-1, 360, 400])
def test_a_bearing_off_the_compass_is_refused(bearing: int) -> None:
    with pytest.raises(ValueError, match="bearing"):
        expected_surface_c("dark", Decimal(bearing))


def test_every_figure_says_that_it_has_no_source() -> None:
    for tone in TONES:
        assert "common practice, no source" in expected(tone, 180).basis
        assert "common practice, no source" in expected(tone, 0).basis


def test_the_margin_says_what_a_heat_deflection_temperature_is_not() -> None:
    assert MARGIN_K == 10
    assert "not a service temperature, says ISO 75-1" in MARGIN_SOURCE


@given(st.integers(0, 359), st.integers(-90, 90))
def test_a_darker_finish_is_never_cooler(bearing: int, latitude: int) -> None:
    found = [expected(tone, bearing, latitude).celsius for tone in TONES]
    assert found == sorted(found)

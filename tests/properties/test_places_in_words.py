"""How a building's place and an elevation's bearing are said."""

from decimal import Decimal

import pytest

from properties.models import Building, Elevation


@pytest.mark.parametrize(
    ("bearing", "faces"),
    [
        ("0", "north"),
        ("22.4", "north"),
        ("22.5", "north-east"),
        ("200", "south"),
        ("359.9", "north"),
    ],
)
def test_a_bearing_is_said_as_a_wind(bearing: str, faces: str) -> None:
    assert Elevation(bearing_deg=Decimal(bearing)).faces() == faces


@pytest.mark.parametrize(
    ("latitude", "longitude", "said"),
    [("51.50000", "-0.12000", "51.5° N, 0.12° W"), ("0", "0", "0° N, 0° E"), ("1", None, "")],
)
def test_a_place_is_said_in_words(latitude: str, longitude: str | None, said: str) -> None:
    place = Building(
        latitude=Decimal(latitude), longitude=None if longitude is None else Decimal(longitude)
    )
    assert place.place_in_words() == said

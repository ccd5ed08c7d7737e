"""What the database itself refuses, whichever way a row comes in."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from properties.models import Building, Elevation
from tests.factories import (
    BuildingFactory,
    DefectFactory,
    ElevationFactory,
    MemberFactory,
    MoistureReadingFactory,
    OwnershipFactory,
    PropertyFactory,
)

pytestmark = pytest.mark.django_db
MAY = date(2026, 5, 1)


@pytest.mark.parametrize(
    ("make", "facts"),
    [
        (PropertyFactory, {"currency": "gbp"}),
        (PropertyFactory, {"given_up_on": MAY}),
        (OwnershipFactory, {"from_on": MAY, "to_on": MAY}),
        (BuildingFactory, {"latitude": Decimal(91)}),
        (BuildingFactory, {"longitude": Decimal(-181)}),
        (BuildingFactory, {"year_built": None}),
        (BuildingFactory, {"year_known": "unknown"}),
        (ElevationFactory, {"bearing_deg": Decimal(360)}),
        (ElevationFactory, {"area_m2": Decimal(0)}),
        (MemberFactory, {"length_mm": Decimal(0)}),
        (MemberFactory, {"width_mm": Decimal(-5)}),
        (MemberFactory, {"removed_on": MAY}),
        (DefectFactory, {"found_on": MAY, "closed_on": date(2026, 4, 30)}),
        (DefectFactory, {"cause_state": "not_yet", "cause_put_right_on": MAY}),
        (MoistureReadingFactory, {"raw_pct": Decimal(201)}),
    ],
)
def test_a_row_that_cannot_be_is_refused(make: Callable[..., Any], facts: dict[str, Any]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        make(**facts)


def test_a_property_has_one_owner_at_a_time() -> None:
    first = OwnershipFactory()
    with pytest.raises(IntegrityError), transaction.atomic():
        OwnershipFactory(property=first.property, from_on=MAY)


def test_a_mark_stands_once_on_a_building_but_may_be_used_again() -> None:
    first = MemberFactory(mark="N-1", removed_on=MAY, removed_reason="rotten")
    MemberFactory(building=first.building, elevation=None, mark="N-1")
    MemberFactory(mark="N-1")
    with pytest.raises(IntegrityError), transaction.atomic():
        MemberFactory(building=first.building, elevation=None, mark="N-1")


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

"""The example's owners, buildings and members."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from properties.models import (
    Building,
    Elevation,
    Member,
    Owner,
    Ownership,
    Property,
)

SIDES = (("North", "N", 0), ("East", "E", 90), ("South", "S", 180), ("West", "W", 270))


@dataclass(frozen=True)
class Places:
    granary: Property
    boathouse: Property
    members: dict[str, Member]


def build_places(at: datetime) -> Places:
    granary, boathouse = _granary_yard(at.date()), _boathouse()
    members = {member.mark: member for member in [*_granary(granary), *_shed(granary)]}
    members |= {member.mark: member for member in _landing(boathouse)}
    return Places(granary, boathouse, members)


def _granary_yard(today: date) -> Property:
    yard = Property.objects.create(
        name="Larkfield Granary (invented)",
        address="Larkfield Yard\nNowhere Lane\nExampleshire",
        country="GB",
        notes="An example. Nothing here stands anywhere.",
    )
    before = Owner.objects.create(name="H. Fieldfare (invented)")
    trust = Owner.objects.create(
        name="The Larkfield Trust (invented)",
        is_body=True,
        contact="1 Example Street, Exampleshire\ntrust@example.invalid",
    )
    sold_on = date(today.year - 5, 7, 1)
    Ownership.objects.create(
        property=yard, owner=before, from_on=date(today.year - 17, 3, 1), to_on=sold_on
    )
    Ownership.objects.create(property=yard, owner=trust, from_on=sold_on)
    return yard


def _boathouse() -> Property:
    landing = Property.objects.create(
        name="Pike Landing Boathouse (invented)",
        address="3 Invented Shore Road\nPike Landing\nNowhere",
        country="US",
        time_zone="America/New_York",
        currency="USD",
        unit_system="us",
        lead_paint_ban_year=1978,
    )
    owner = Owner.objects.create(name="Pike Landing Rowers (invented)", is_body=True)
    Ownership.objects.create(property=landing, owner=owner, from_on=date(1998, 5, 1))
    return landing


def _elevations(building: Building, access: str, area: int) -> dict[str, Elevation]:
    return {
        letter: Elevation.objects.create(
            building=building,
            name=name,
            bearing_deg=Decimal(bearing),
            access=access,
            area_m2=Decimal(area),
        )
        for name, letter, bearing in SIDES
    }


def _granary(yard: Property) -> Iterator[Member]:
    building = Building.objects.create(
        property=yard,
        name="Granary",
        year_built=1868,
        year_known=Building.YearKnown.CIRCA,
        storeys=2,
        latitude=Decimal("52.1"),
        longitude=Decimal("-1.2"),
        altitude_m=Decimal(95),
    )
    faces = _elevations(building, Elevation.Access.LADDER, 44)
    dark = {"finish": "paint", "finish_colour": "dark green", "finish_tone": "dark"}
    white = {"finish": "paint", "finish_colour": "white", "finish_tone": "white"}
    new_paint = {"oldest_paint_year": 1998, "load_bearing": "no", "species": "Scots pine"}
    for letter, exposure, paint in (
        ("S", "severe", white),
        ("W", "severe", dark),
        ("N", "sheltered", white),
    ):
        for number in (1, 2, 3, 4):
            yield _member(
                faces[letter],
                f"{letter}-SILL-{number:02}",
                "sill",
                position=f"ground floor, window {number} from the left",
                length_mm=Decimal(1150),
                width_mm=Decimal(140),
                depth_mm=Decimal(65),
                exposure=exposure,
                use_class="3.2",
                **paint,
                **new_paint,
            )
    for letter in ("E", "W"):
        yield _member(
            faces[letter],
            f"{letter}-BARGE-01",
            "bargeboard",
            position="gable, left of the ridge",
            length_mm=Decimal(3600),
            width_mm=Decimal(220),
            depth_mm=Decimal(28),
            exposure="severe",
            use_class="3.1",
            **dark,
            **new_paint,
        )
    yield _member(
        faces["S"],
        "S-FASCIA-01",
        "fascia",
        position="eaves",
        length_mm=Decimal(7200),
        width_mm=Decimal(180),
        depth_mm=Decimal(22),
        exposure="partly",
        use_class="3.1",
        **white,
        **new_paint,
    )
    yield _member(
        faces["S"],
        "S-LINTEL-01",
        "lintel",
        position="over the cart door",
        species="oak",
        length_mm=Decimal(2900),
        width_mm=Decimal(200),
        depth_mm=Decimal(240),
        exposure="partly",
        load_bearing="yes",
        finish="none",
        use_class="3.1",
    )
    yield _member(faces["E"], "E-DOOR-01", "door", position="ground floor", exposure="partly")


def _shed(yard: Property) -> Iterator[Member]:
    building = Building.objects.create(
        property=yard,
        name="Cart shed",
        year_built=1912,
        year_known=Building.YearKnown.BEFORE,
        storeys=1,
    )
    faces = _elevations(building, Elevation.Access.GROUND, 26)
    for number in range(1, 5):
        yield _member(
            faces["S"],
            f"C-POST-{number:02}",
            "post_base",
            position=f"post {number} from the left",
            species="oak",
            length_mm=Decimal(600),
            width_mm=Decimal(180),
            depth_mm=Decimal(180),
            exposure="partly",
            ground_contact="yes",
            load_bearing="yes",
            finish="none",
            use_class="4",
        )


def _landing(landing: Property) -> Iterator[Member]:
    building = Building.objects.create(
        property=landing,
        name="Boathouse",
        year_built=1931,
        year_known=Building.YearKnown.CIRCA,
        storeys=1,
        latitude=Decimal("43.2"),
        longitude=Decimal("-71.3"),
        altitude_m=Decimal(160),
    )
    faces = _elevations(building, Elevation.Access.LADDER, 38)
    for number in range(1, 4):
        yield _member(
            faces["S"],
            f"B-SILL-{number:02}",
            "sill",
            position=f"window {number} from the left",
            species="white pine",
            length_mm=Decimal("914.4"),
            width_mm=Decimal("139.7"),
            depth_mm=Decimal("50.8"),
            exposure="severe",
            load_bearing="no",
            finish="paint",
            finish_colour="barn red",
            finish_tone="medium",
            use_class="3.2",
        )
    yield _member(
        faces["W"],
        "B-POST-01",
        "post",
        position="porch, left",
        species="",
        exposure="severe",
        load_bearing="unknown",
        finish="paint",
        finish_tone="white",
    )


def _member(elevation: Elevation, mark: str, kind: str, **facts: Any) -> Member:
    return Member.objects.create(
        building=elevation.building, elevation=elevation, mark=mark, kind=kind, **facts
    )

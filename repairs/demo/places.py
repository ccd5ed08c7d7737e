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
        hot_day_c=Decimal(32),
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
        hot_day_c=Decimal(35),
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


DARK = {"finish": "paint", "finish_colour": "dark green", "finish_tone": "dark"}
WHITE = {"finish": "paint", "finish_colour": "white", "finish_tone": "white"}
SOFTWOOD = {"oldest_paint_year": 1998, "load_bearing": "no", "species": "Scots pine"}


def _granary(yard: Property) -> Iterator[Member]:
    building = Building.objects.create(
        property=yard, name="Granary", year_built=1868, year_known=Building.YearKnown.CIRCA,
        storeys=2, latitude=Decimal("52.1"), longitude=Decimal("-1.2"), altitude_m=Decimal(95),
    )  # fmt: skip
    faces = _elevations(building, Elevation.Access.LADDER, 44)
    # Its gable is past a ladder.
    faces["W"].access = Elevation.Access.SCAFFOLD
    faces["W"].save()
    for letter, exposure, paint in (
        ("S", "severe", WHITE), ("W", "severe", DARK), ("N", "sheltered", WHITE),
    ):  # fmt: skip
        yield from _sills(faces[letter], letter, exposure=exposure, **paint)
    for letter in ("E", "W"):
        yield _member(
            faces[letter], f"{letter}-BARGE-01", "bargeboard", "gable, left of the ridge",
            (3600, 220, 28), exposure="severe", use_class="3.1", **DARK, **SOFTWOOD,
        )  # fmt: skip
    yield _member(
        faces["S"], "S-FASCIA-01", "fascia", "eaves", (7200, 180, 22), exposure="partly",
        use_class="3.1", **WHITE, **SOFTWOOD,
    )  # fmt: skip
    yield _member(
        faces["S"], "S-LINTEL-01", "lintel", "over the cart door", (2900, 200, 240),
        species="oak", exposure="partly", load_bearing="yes", finish="none", use_class="3.1",
    )  # fmt: skip
    yield _member(
        faces["E"], "E-DOOR-01", "door", "ground floor", (1980, 960, 44), exposure="partly",
        use_class="3.1", **DARK, **SOFTWOOD,
    )  # fmt: skip


def _sills(elevation: Elevation, letter: str, **facts: Any) -> Iterator[Member]:
    for number in (1, 2, 3, 4):
        yield _member(
            elevation, f"{letter}-SILL-{number:02}", "sill",
            f"ground floor, window {number} from the left", (1150, 140, 65),
            use_class="3.2", **facts, **SOFTWOOD,
        )  # fmt: skip


def _shed(yard: Property) -> Iterator[Member]:
    building = Building.objects.create(
        property=yard, name="Cart shed", year_built=1912, year_known=Building.YearKnown.BEFORE,
        storeys=1,
    )  # fmt: skip
    faces = _elevations(building, Elevation.Access.GROUND, 26)
    for number in range(1, 5):
        yield _member(
            faces["S"], f"C-POST-{number:02}", "post_base", f"post {number} from the left",
            (600, 180, 180), species="oak", exposure="partly", ground_contact="yes",
            load_bearing="yes", finish="none", use_class="4",
        )  # fmt: skip


def _landing(landing: Property) -> Iterator[Member]:
    building = Building.objects.create(
        property=landing, name="Boathouse", year_built=1931, year_known=Building.YearKnown.CIRCA,
        storeys=1, latitude=Decimal("43.2"), longitude=Decimal("-71.3"), altitude_m=Decimal(160),
    )  # fmt: skip
    faces = _elevations(building, Elevation.Access.LADDER, 38)
    for number in range(1, 4):
        yield _member(
            faces["S"], f"B-SILL-{number:02}", "sill", f"window {number} from the left",
            ("914.4", "139.7", "50.8"), species="white pine", exposure="severe",
            load_bearing="no", finish="paint", finish_colour="barn red", finish_tone="medium",
            use_class="3.2",
        )  # fmt: skip
    yield _member(
        faces["W"], "B-POST-01", "post", "porch, left", None, exposure="severe",
        load_bearing="unknown", **WHITE,
    )  # fmt: skip


def _member(
    elevation: Elevation,
    mark: str,
    kind: str,
    position: str,
    size_mm: tuple[Any, Any, Any] | None,
    **facts: Any,
) -> Member:
    length, width, depth = size_mm or (None, None, None)
    return Member.objects.create(
        building=elevation.building, elevation=elevation, mark=mark, kind=kind,
        position=position, length_mm=_exact(length), width_mm=_exact(width),
        depth_mm=_exact(depth), **facts,
    )  # fmt: skip


def _exact(size: Any) -> Decimal | None:
    return None if size is None else Decimal(size)

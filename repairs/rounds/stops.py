"""Due dates as places to walk to: their order, and the groups that need the same access."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Generic, TypeVar

from properties.models import Building, Elevation, Property
from repairs.rounds.order import Stop, walking_order

if TYPE_CHECKING:
    from properties.models import Member
    from repairs.models import DueDate

Access = Elevation.Access
Row = TypeVar("Row")


def stop_of(due: DueDate) -> Stop:
    """Needs the member with its place."""
    member, elevation = due.member, due.member.elevation
    bearing = elevation.bearing_deg if elevation else None
    return Stop(
        key=due.pk,
        property=member.building.property.name,
        building=member.building.name,
        access=elevation.access if elevation else Access.UNKNOWN,
        elevation=elevation.name if elevation else "",
        bearing_deg=None if bearing is None else float(bearing),
        position=member.position,
        mark=member.mark,
        property_key=member.building.property_id,
    )


def in_walking_order(dates: Iterable[DueDate]) -> list[DueDate]:
    by_key = {due.pk: due for due in dates}
    return [by_key[stop.key] for stop in walking_order(map(stop_of, by_key.values()))]


@dataclass(frozen=True)
class Place:
    """One elevation that is walked in one go, or what of a building has no elevation."""

    property: Property
    building: Building
    elevation: Elevation | None
    access: str

    def access_words(self) -> str:
        if self.access == Access.UNKNOWN:
            return "access not known"
        return Access(self.access).label.lower()

    def side_words(self) -> str:
        """'South, facing south'; the bearing only where it is recorded."""
        if self.elevation is None:
            return "no elevation recorded"
        if self.elevation.bearing_deg is None:
            return self.elevation.name
        return f"{self.elevation.name}, facing {self.elevation.faces()}"


def place_of(member: Member) -> Place:
    access = member.elevation.access if member.elevation else Access.UNKNOWN
    return Place(member.building.property, member.building, member.elevation, access)


def where_words(member: Member) -> str:
    """'on South, tower', for a sentence; the building's name where no elevation is recorded."""
    place = place_of(member)
    side = place.elevation.name if place.elevation else place.building.name
    known = place.access != Access.UNKNOWN
    return f"on {side}, {place.access_words()}" if known else f"on {side}"


@dataclass(frozen=True)
class PlaceGroup(Generic[Row]):
    """Rows that stand one after the other at one place."""

    place: Place
    rows: Sequence[Row]


def by_access(rows: Iterable[Row], member_of: Callable[[Row], Member]) -> list[PlaceGroup[Row]]:
    """Runs of rows that need the same access on the same building."""

    def key(row: Row) -> tuple[int, str]:
        member = member_of(row)
        return member.building_id, place_of(member).access

    return _groups(rows, member_of, key)


def by_elevation(rows: Iterable[Row], member_of: Callable[[Row], Member]) -> list[PlaceGroup[Row]]:
    """Runs of rows on one elevation; one that is walked in two parts stands here twice."""

    def key(row: Row) -> tuple[int, int | None]:
        member = member_of(row)
        return member.building_id, member.elevation_id

    return _groups(rows, member_of, key)


def _groups(
    rows: Iterable[Row], member_of: Callable[[Row], Member], key: Callable[[Row], object]
) -> list[PlaceGroup[Row]]:
    runs = (list(run) for _, run in groupby(rows, key=key))
    return [PlaceGroup(place_of(member_of(run[0])), run) for run in runs]

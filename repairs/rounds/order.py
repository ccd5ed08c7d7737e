"""The order in which a round is walked.

Whole properties, then whole buildings; on a building first what is reached from the ground, then
each kind of access by itself, so that a tower is fetched once; then one elevation at a time, in
one direction round the building, as the survey order of the US National Park Service has it
(Preservation Brief 47: one elevation at a time, in a consistent direction)."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

# What is quickest to set up comes first; what nobody knows comes last.
ACCESS_ORDER = ("ground", "ladder", "tower", "scaffold", "rope", "unknown")
NUMBER = re.compile(r"([0-9]+)")

NaturalKey = tuple[tuple[int, int, str], ...]


@dataclass(frozen=True)
class Stop:
    """One member to stand in front of. `bearing_deg` is the way that its elevation faces, in
    degrees from north (0 to 359.9), None where not recorded; `elevation` and `position` are
    empty where not recorded. `property_key` keeps two properties of one name apart."""

    key: int
    property: str
    building: str
    access: str
    elevation: str
    bearing_deg: float | None
    position: str
    mark: str
    property_key: int = 0


def natural(text: str) -> NaturalKey:
    """A key by which N-SILL-2 comes before N-SILL-10, whatever the case of its letters."""
    parts = NUMBER.split(text.casefold())
    return tuple((1, int(part), "") if n % 2 else (0, 0, part) for n, part in enumerate(parts))


def walking_order(stops: Iterable[Stop]) -> list[Stop]:
    """By property, building, access, elevation (clockwise from north, unknown bearings after
    them by name), position (none last) and mark. The same stops give the same order, however
    they come."""
    return sorted(stops, key=_place)


def _place(stop: Stop) -> tuple[Any, ...]:
    unknown = stop.bearing_deg is None
    return (
        (natural(stop.property), stop.property, stop.property_key),
        (natural(stop.building), stop.building),
        (_access_place(stop.access), stop.access),
        (unknown, stop.bearing_deg or 0.0, not stop.elevation),
        (natural(stop.elevation), stop.elevation),
        (not stop.position, natural(stop.position), stop.position),
        (natural(stop.mark), stop.mark, stop.key),
    )


def _access_place(access: str) -> int:
    return ACCESS_ORDER.index(access) if access in ACCESS_ORDER else len(ACCESS_ORDER)

"""What the years ahead are reckoned from: the rows of some properties, each read once.

The number of queries is the same for one property and for ten thousand buildings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import Count, FloatField, Q
from django.db.models.functions import Cast

from properties.models import Defect, Elevation, Member
from properties.models.looked_after import of_looked_after_members
from properties.models.owners import PropertyQuerySet
from repairs.models import DueDate, MemberInterval, Plan, Repair, WorkMove

LASTING = (Repair.Kind.RESIN, Repair.Kind.SPLICE, Repair.Kind.REPLACEMENT)


class Place(NamedTuple):
    """Where a job is: 0 for a member that stands on no elevation; the length in mm."""

    member: int
    elevation: int
    building: int
    property: int
    length_mm: float | None


class DateRow(NamedTuple):
    """An outstanding date, where it stands in its series, and of what. Flat, as it is read: there
    may be hundreds of thousands."""

    pk: int
    kind: str
    due_on: date
    counted_from: date
    step: int
    window_days: int
    rule_id: int | None
    member_id: int
    elevation_id: int | None
    building_id: int
    property_id: int
    length_mm: float | None
    member_kind: str
    exposure: str
    finish: str
    use_class: str
    installed_year: int | None
    repair_id: int | None
    repair_kind: str | None
    temporary: bool | None

    @property
    def place(self) -> Place:
        return _place(self[7:12])


class DefectRow(NamedTuple):
    pk: int
    kind: str
    urgency: str
    state: str
    found_on: date
    place: Place


class PlanRow(NamedTuple):
    pk: int
    defect: int
    kind: str
    on: date
    place: Place


class ElevationRow(NamedTuple):
    pk: int
    name: str
    access: str
    area_m2: float | None
    building: int
    property: int


@dataclass(frozen=True)
class Rows:
    """`zones` is the time zone of each property; `undated` counts members in place that have no
    outstanding date at all."""

    properties: dict[int, str]
    zones: dict[int, ZoneInfo]
    dates: list[DateRow]
    own_months: dict[tuple[int, str], int]
    defects: list[DefectRow]
    plans: list[PlanRow]
    elevations: dict[int, ElevationRow]
    moves: list[WorkMove]
    members: int
    undated: int


_PLACE = ("pk", "elevation_id", "building_id", "building__property_id")
_FACTS = ("kind", "exposure", "finish", "use_class", "installed_year")
_REPAIR = ("pk", "kind", "temporary")
_DATE = ("pk", "kind", "due_on", "counted_from", "step", "window_days", "rule_id")


def rows_of(properties: PropertyQuerySet, on: date) -> Rows:
    """Of those that are still looked after on a day."""
    kept = properties.looked_after(on)
    known = list(kept.order_by().values_list("pk", "name", "time_zone"))
    zones = {pk: ZoneInfo(zone) for pk, _, zone in known}
    plans = _plans(kept, on, zones)
    members, undated = _members(kept, on)
    return Rows(
        properties={pk: name for pk, name, _ in known},
        zones=zones,
        dates=_dates(kept, on),
        own_months=_own_months(kept),
        defects=_defects(kept, on),
        plans=plans,
        elevations=_elevations(kept, on),
        moves=list(
            WorkMove.objects.within(kept)
            .select_related(
                "property", "elevation__building__property", "member__building__property"
            )
            .order_by("pk")
        ),
        members=members,
        undated=undated,
    )


def _length(path: str) -> Cast:
    return Cast(f"{path}length_mm", FloatField())


def _through(path: str, names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{path}{name}" for name in names)


def _place(values: tuple[object, ...]) -> Place:
    member, elevation, building, property, length = values
    return Place(member, elevation or 0, building, property, length)  # type: ignore[arg-type]


def _dates(kept: PropertyQuerySet, on: date) -> list[DateRow]:
    wanted = DueDate.objects.within(kept).reminding(on).order_by()
    columns = (
        *_DATE, *_through("member__", _PLACE), "length", *_through("member__", _FACTS),
        *_through("repair__", _REPAIR),
    )  # fmt: skip
    rows = wanted.annotate(length=_length("member__")).values_list(*columns)
    return [DateRow._make(row) for row in rows.iterator(chunk_size=5000)]


def _own_months(kept: PropertyQuerySet) -> dict[tuple[int, str], int]:
    own = MemberInterval.objects.filter(member__building__property__in=kept).order_by()
    return {(member, kind): months for member, kind, months in own.values_list(
        "member", "kind", "months"
    )}  # fmt: skip


def _defects(kept: PropertyQuerySet, on: date) -> list[DefectRow]:
    open_ones = Defect.objects.outstanding().within(kept)
    open_ones = open_ones.filter(of_looked_after_members(on, "member__"))
    columns = ("pk", "kind", "urgency", "state", "found_on", *_through("member__", _PLACE))
    rows = open_ones.order_by("pk").annotate(length=_length("member__"))
    found = rows.values_list(*columns, "length")
    return [DefectRow._make((*row[:5], _place(row[5:]))) for row in found]


def _plans(kept: PropertyQuerySet, on: date, zones: dict[int, ZoneInfo]) -> list[PlanRow]:
    """The earliest of each defect, where there are several."""
    planned = Plan.objects.still_planned().within(kept)
    planned = planned.filter(of_looked_after_members(on, "defect__member__"))
    columns = ("pk", "defect", "kind", "starts_at", *_through("defect__member__", _PLACE))
    rows = planned.order_by("-starts_at", "-pk").annotate(length=_length("defect__member__"))
    found: dict[int, PlanRow] = {}
    for pk, defect, kind, starts_at, *rest in rows.values_list(*columns, "length"):
        place = _place(tuple(rest))
        on_site = starts_at.astimezone(zones[place.property]).date()
        found[defect] = PlanRow(pk, defect, kind, on_site, place)
    return list(found.values())


def _elevations(kept: PropertyQuerySet, on: date) -> dict[int, ElevationRow]:
    rows = (
        Elevation.objects.filter(building__property__in=kept)
        .order_by()
        .annotate(area=Cast("area_m2", FloatField()))
        .values_list("pk", "name", "access", "area", "building_id", "building__property_id")
    )
    return {row[0]: ElevationRow._make(row) for row in rows}


def _members(kept: PropertyQuerySet, on: date) -> tuple[int, int]:
    """Members in place, and how many of them have no outstanding date."""
    in_place = Member.objects.within(kept).looked_after(on).order_by()
    dated = DueDate.objects.outstanding().values("member")
    counted = in_place.aggregate(whole=Count("pk"), undated=Count("pk", filter=~Q(pk__in=dated)))
    return counted["whole"], counted["undated"]

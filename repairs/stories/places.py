"""What the pages of a property, a building and an elevation say: what stands there, what is
open, what falls due, and what it has cost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import (
    BigIntegerField,
    Count,
    F,
    IntegerField,
    Max,
    Min,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
)
from django.db.models.functions import Coalesce

from properties.models import Building, Defect, Elevation, Member, Owner, Property
from repairs.models import CostLine, DueDate, Repair
from repairs.models.costs import CostLineQuerySet

MOST_SHOWN = 8
MEMBER_ORDERS = {
    "due": (F("due_on").asc(nulls_last=True),),
    "urgency": (F("worst_urgency").desc(nulls_last=True), "-defect_count"),
    "repairs": ("-repair_count",),
    "elevation": (F("elevation__name").asc(nulls_last=True),),
}
MEMBER_ORDER_WORDS = (
    ("", "Mark"),
    ("urgency", "Most urgent defect"),
    ("due", "Next due date"),
    ("repairs", "Most repairs"),
    ("elevation", "Elevation"),
)


@dataclass(frozen=True)
class OwnerPeriod:
    """One owner's time with a property, and what was spent in it; to_on is the first day after."""

    owner: Owner
    from_on: date
    to_on: date | None
    note: str
    cost_minor: int


@dataclass(frozen=True)
class PropertyCosts:
    """Lifetime cost, and how it falls on the owners' times; the rest had no owner recorded."""

    total_minor: int
    periods: tuple[OwnerPeriod, ...]
    without_owner_minor: int


@dataclass(frozen=True)
class PropertySums:
    standing: int
    defects: int
    overdue: int


@dataclass(frozen=True)
class Open:
    """The most pressing of a kind, and whether there are more than are shown."""

    shown: tuple[Any, ...]
    more: bool


def first_of(rows: QuerySet[Any], limit: int = MOST_SHOWN) -> Open:
    found = tuple(rows[: limit + 1])
    return Open(found[:limit], len(found) > limit)


def property_costs(of: Property, told: CostLineQuerySet) -> PropertyCosts:
    """Money follows the day that it counts on, so a sale never moves it."""
    periods = list(of.ownerships.select_related("owner").order_by("from_on"))
    sums = {
        f"period_{number}": Sum("home_minor", filter=_between(each.from_on, each.to_on))
        for number, each in enumerate(periods)
    }
    lines = told.filter(building__property=of)
    found = lines.aggregate(total=Sum("home_minor"), **sums)
    spent = [found[f"period_{number}"] or 0 for number in range(len(periods))]
    total = found["total"] or 0
    return PropertyCosts(
        total_minor=total,
        periods=tuple(
            OwnerPeriod(each.owner, each.from_on, each.to_on, each.note, cost)
            for each, cost in zip(periods, spent, strict=True)
        ),
        without_owner_minor=total - sum(spent),
    )


def _between(first: date, end: date | None) -> Q:
    days = Q(counts_on__gte=first)
    return days & Q(counts_on__lt=end) if end else days


def cost_to_date(lines: QuerySet[CostLine]) -> int:
    return lines.aggregate(total=Sum("home_minor"))["total"] or 0


def open_defects(within: Q) -> Open:
    defects = Defect.objects.outstanding().filter(within).with_place().most_urgent_first()
    return first_of(defects)


def defects_on(members: Iterable[Member]) -> QuerySet[Defect]:
    return Defect.objects.outstanding().filter(member__in=[member.pk for member in members])


def next_due(within: Q, on: date) -> Open:
    due = DueDate.objects.reminding(on).filter(within).with_place().order_by("due_on", "pk")
    return first_of(due)


def sums_of(buildings: list[Any]) -> PropertySums:
    """Of buildings as `buildings_of` gives them."""
    return PropertySums(
        standing=sum(not building.is_down for building in buildings),
        defects=sum(building.defect_count for building in buildings),
        overdue=sum(building.overdue_count for building in buildings),
    )


def buildings_of(of: Property, on: date, told: CostLineQuerySet) -> list[Building]:
    """The buildings of a property, standing ones first, with their figures."""
    here = OuterRef("pk")
    members = Member.objects.in_place().filter(building=here)
    defects = Defect.objects.outstanding().on_what_stands().filter(member__building=here)
    overdue = DueDate.objects.reminding(on).overdue(on).filter(member__building=here)
    costs = told.filter(building=here)
    found = of.buildings.annotate(
        member_count=_count(members, "building"),
        defect_count=_count(defects, "member__building"),
        worst_urgency=Subquery(_grouped(defects, "member__building", Max("urgency"))),
        overdue_count=_count(overdue, "member__building"),
        cost_minor=Coalesce(
            Subquery(_grouped(costs, "building", Sum("home_minor"))),
            0,
            output_field=BigIntegerField(),
        ),
        is_down=Q(demolished_on__isnull=False),
    ).order_by("is_down", "name")
    return list(found)


def elevations_of(building: Building) -> QuerySet[Elevation]:
    """The elevations of a building, round the compass from north."""
    here = OuterRef("pk")
    members = Member.objects.in_place().filter(elevation=here)
    defects = Defect.objects.outstanding().filter(member__elevation=here)
    return building.elevations.annotate(
        member_count=_count(members, "elevation"),
        defect_count=_count(defects, "member__elevation"),
    ).order_by(F("bearing_deg").asc(nulls_last=True), "name")


def with_condition(members: QuerySet[Member], on: date) -> QuerySet[Member]:
    """Adds to each member what its line says: `defect_count`, `worst_urgency`, `repair_count`,
    `last_repair_at` and `due_on`."""
    here = OuterRef("pk")
    defects = Defect.objects.outstanding().filter(member=here)
    repairs = Repair.objects.standing().filter(member=here)
    due = DueDate.objects.reminding(on).filter(member=here)
    return members.annotate(
        defect_count=_count(defects, "member"),
        worst_urgency=Subquery(_grouped(defects, "member", Max("urgency"))),
        repair_count=_count(repairs, "member"),
        last_repair_at=Subquery(_grouped(repairs, "member", Max("began_at"))),
        due_on=Subquery(_grouped(due, "member", Min("due_on"))),
    )


def _grouped(rows: QuerySet[Any], by: str, figure: Any) -> QuerySet[Any]:
    return rows.order_by().values(by).annotate(figure=figure).values("figure")


def _count(rows: QuerySet[Any], by: str) -> Coalesce:
    return Coalesce(Subquery(_grouped(rows, by, Count("pk"))), 0, output_field=IntegerField())


def members_to_list(members: Any, choice: Mapping[str, str], on: date) -> QuerySet[Member]:
    """The members of a building as its page lists them: those in place, or all, by mark or in
    the order chosen."""
    chosen = members.all() if choice.get("show") == "all" else members.in_place()
    chosen = chosen.matching(choice.get("q", "").replace("\0", "")).select_related("elevation")
    order = MEMBER_ORDERS.get(choice.get("sort", ""), ())
    return with_condition(chosen, on).order_by(*order, "mark", "pk")

"""What buildings have cost: one function per report, read by page, PDF and XLSX alike.

Every figure is a sum over cost lines in the currency of their property, at the rate of each
line's own day. A line counts on the day of its invoice where there is one, else of its work."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Count, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce
from django.urls import reverse

from properties.models import Building, Defect, Member, Property
from properties.models.buildings import BuildingQuerySet
from properties.models.owners import PropertyQuerySet
from repairs.models import CostLine
from repairs.models.costs import CostLineQuerySet

MEMBERS_SHOWN = 40


@dataclass(frozen=True)
class Period:
    """From a first day to a last day, both included; open where None."""

    first: date | None = None
    last: date | None = None

    def lines(self, lines: CostLineQuerySet) -> CostLineQuerySet:
        if self.first is not None:
            lines = lines.filter(counts_on__gte=self.first)
        if self.last is not None:
            lines = lines.filter(counts_on__lte=self.last)
        return lines

    def in_words(self) -> str:
        if self.first and self.last:
            return f"from {self.first:%-d %B %Y} to {self.last:%-d %B %Y}"
        if self.first:
            return f"since {self.first:%-d %B %Y}"
        if self.last:
            return f"up to {self.last:%-d %B %Y}"
        return "over the recorded life"


@dataclass(frozen=True)
class Share:
    """One part of a total, such as a year or a kind of cost."""

    label: str
    minor: int
    url: str = ""


@dataclass(frozen=True)
class CostReport:
    """A total and the ways it divides; each way adds up to the total to the minor unit."""

    title: str
    currency: str
    period: Period
    total_minor: int
    by_year: tuple[Share, ...] = ()
    by_kind: tuple[Share, ...] = ()
    by_cause: tuple[Share, ...] = ()
    by_member: tuple[Share, ...] = ()
    by_building: tuple[Share, ...] = ()
    sections: tuple[tuple[str, tuple[Share, ...]], ...] = field(init=False)

    def __post_init__(self) -> None:
        named = (
            ("Year", self.by_year),
            ("Kind", self.by_kind),
            ("Cause", self.by_cause),
            ("Building", self.by_building),
            ("Member", self.by_member),
        )
        object.__setattr__(self, "sections", tuple(pair for pair in named if pair[1]))


def building_report(
    building: Building, period: Period, told: CostLineQuerySet | None = None
) -> CostReport:
    """`told` are the lines that the reader may see; all of them if not given."""
    lines = period.lines(_all(told).filter(building=building))
    return CostReport(
        title=str(building),
        currency=building.property.currency,
        period=period,
        by_member=_by_member(lines),
        **_by_year_kind_cause(lines),
    )


def property_report(
    property: Property, period: Period, told: CostLineQuerySet | None = None
) -> CostReport:
    lines = period.lines(_all(told).filter(building__property=property))
    return CostReport(
        title=property.name,
        currency=property.currency,
        period=period,
        by_building=_by_building(lines),
        by_member=_by_member(lines),
        **_by_year_kind_cause(lines),
    )


def _all(told: CostLineQuerySet | None) -> CostLineQuerySet:
    return CostLine.objects.all() if told is None else told


def portfolio_reports(
    properties: PropertyQuerySet, period: Period, told: CostLineQuerySet | None = None
) -> list[CostReport]:
    """One report for each currency: amounts in unlike currencies are never added up."""
    currencies = sorted(set(properties.order_by().values_list("currency", flat=True)))
    whole = Property.objects.count() == properties.count() and len(currencies) == 1
    reports = []
    for currency in currencies:
        lines = period.lines(_all(told))
        if not whole:
            lines = lines.filter(building__property__in=properties.filter(currency=currency))
        shares = _by_year_kind_cause(lines)
        title = f"All properties in {currency}"
        reports.append(CostReport(title=title, currency=currency, period=period, **shares))
    return reports


def building_totals(lines: CostLineQuerySet) -> dict[int, int]:
    """Lifetime cost of each building that has any, in minor units of its property's currency."""
    return dict(
        lines.order_by()
        .values("building_id")
        .annotate(total=Sum("home_minor"))
        .values_list("building_id", "total")
    )


def _by_year_kind_cause(lines: CostLineQuerySet) -> dict[str, Any]:
    """The total and three divisions of it, from one pass over the lines."""
    groups = list(
        lines.order_by().values_list("year", "kind", "cause").annotate(total=Sum("home_minor"))
    )
    kinds, causes = dict(CostLine.Kind.choices), dict(Defect.Cause.choices)
    causes[Defect.Cause.UNKNOWN] = "No cause recorded"
    return {
        "total_minor": sum(group[3] for group in groups),
        "by_year": _add_up(groups, lambda group: group[0], str, by_size=False),
        "by_kind": _add_up(groups, lambda group: group[1], lambda kind: str(kinds[kind])),
        "by_cause": _add_up(groups, lambda group: group[2], lambda cause: str(causes[cause])),
    }


def _add_up(
    groups: Iterable[tuple[Any, ...]],
    key: Callable[[tuple[Any, ...]], Any],
    label: Callable[[Any], str],
    by_size: bool = True,
) -> tuple[Share, ...]:
    sums: defaultdict[Any, int] = defaultdict(int)
    for group in groups:
        sums[key(group)] += group[3]
    ordered = sorted(sums.items(), key=(lambda item: -item[1]) if by_size else None)
    return tuple(Share(label(value), minor) for value, minor in ordered)


def _by_member(lines: CostLineQuerySet) -> tuple[Share, ...]:
    kinds = dict(Member.Kind.choices)
    sums = (
        lines.order_by()
        .values_list("member_id", "member__mark", "member__kind")
        .annotate(total=Sum("home_minor"))
    )
    return tuple(
        Share("Not tied to a member", minor)
        if pk is None
        else Share(f"{mark} · {kinds[kind]}", minor, reverse("member-detail", args=[pk]))
        for pk, mark, kind, minor in sorted(sums, key=lambda group: -group[3])
    )


def _by_building(lines: CostLineQuerySet) -> tuple[Share, ...]:
    sums = (
        lines.order_by()
        .values_list("building_id", "building__name")
        .annotate(total=Sum("home_minor"))
    )
    return tuple(
        Share(name, minor, reverse("cost-building", args=[pk]))
        for pk, name, minor in sorted(sums, key=lambda group: -group[2])
    )


def shortened(shares: tuple[Share, ...], most: int = MEMBERS_SHOWN) -> tuple[Share, ...]:
    """The largest shares, and one for all the rest, so that the sum stays the same."""
    if len(shares) <= most:
        return shares
    rest = shares[most:]
    return (*shares[:most], Share(f"{len(rest)} others", sum(share.minor for share in rest)))


def buildings_with_cost(
    buildings: BuildingQuerySet, period: Period, told: CostLineQuerySet | None = None
) -> BuildingQuerySet:
    """Adds `cost_minor` and `line_count`, so that a list can be sorted by what was spent."""
    lines = period.lines(_all(told).filter(building=OuterRef("pk")))
    per_building = lines.order_by().values("building")
    return buildings.annotate(
        cost_minor=Coalesce(
            Subquery(per_building.annotate(total=Sum("home_minor")).values("total")), 0
        ),
        line_count=Coalesce(Subquery(per_building.annotate(lines=Count("pk")).values("lines")), 0),
    )

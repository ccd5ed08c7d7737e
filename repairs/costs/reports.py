"""What buildings have cost, and the divisions of it that an index alone can tell.

Every figure is a sum over cost lines in the currency of their property, at the rate of each
line's own day. A line counts on the day of its invoice where there is one, else of its work.
What takes longer to find is in `repairs.costs.account`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.db.models import Count, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce
from django.urls import reverse

from properties.models import Building, Defect, Member, Property
from properties.models.buildings import BuildingQuerySet
from properties.models.owners import PropertyQuerySet
from repairs.costs.period import Period
from repairs.costs.shares import Only, Share, add_up, condition, shortened
from repairs.models import CostLine
from repairs.models.costs import CostLineQuerySet

__all__ = [
    "CostReport", "Period", "Share", "building_report", "building_totals", "buildings_with_cost",
    "portfolio_reports", "property_report", "shortened",
]  # fmt: skip


@dataclass(frozen=True)
class CostReport:
    """A total and the ways it divides; each way adds up to the total to the minor unit. `only`
    are the conditions of its lines, the days among them."""

    title: str
    currency: str
    period: Period
    total_minor: int
    by_year: tuple[Share, ...] = ()
    by_kind: tuple[Share, ...] = ()
    by_cause: tuple[Share, ...] = ()
    by_member: tuple[Share, ...] = ()
    by_building: tuple[Share, ...] = ()
    only: Only = ()
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
    lines = period.lines(all_of(told).filter(building=building))
    return CostReport(
        title=str(building),
        currency=building.property.currency,
        period=period,
        by_member=_by_member(lines),
        only=(("building", str(building.pk)), *period.only()),
        **_by_year_kind_cause(lines),
    )


def property_report(
    property: Property, period: Period, told: CostLineQuerySet | None = None
) -> CostReport:
    lines = period.lines(all_of(told).filter(building__property=property))
    return CostReport(
        title=property.name,
        currency=property.currency,
        period=period,
        by_building=_by_building(lines),
        by_member=_by_member(lines),
        only=(("property", str(property.pk)), *period.only()),
        **_by_year_kind_cause(lines),
    )


def all_of(told: CostLineQuerySet | None) -> CostLineQuerySet:
    return CostLine.objects.all() if told is None else told


def portfolio_reports(
    properties: PropertyQuerySet, period: Period, told: CostLineQuerySet | None = None
) -> list[CostReport]:
    """One report for each currency: amounts in unlike currencies are never added up."""
    return [
        CostReport(
            title=f"All properties in {currency}",
            currency=currency,
            period=period,
            only=(("currency", currency), *period.only()),
            **_by_year_kind_cause(period.lines(lines)),
        )
        for currency, lines in lines_by_currency(properties, told)
    ]


def lines_by_currency(
    properties: PropertyQuerySet, told: CostLineQuerySet | None
) -> list[tuple[str, CostLineQuerySet]]:
    """The lines of some properties by the currency that these add up in. Where all properties
    add up in one, the ledger is read as it stands, and no property is looked up."""
    currencies = sorted(set(properties.order_by().values_list("currency", flat=True)))
    if len(currencies) == 1 and Property.objects.count() == properties.count():
        return [(currencies[0], all_of(told))]
    return [
        (
            currency,
            all_of(told).filter(building__property__in=properties.filter(currency=currency)),
        )
        for currency in currencies
    ]


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
        "by_year": add_up(groups, lambda group: group[0], str, "year", by_size=False),
        "by_kind": add_up(groups, lambda group: group[1], lambda kind: str(kinds[kind]), "kind"),
        "by_cause": add_up(
            groups, lambda group: group[2], lambda cause: str(causes[cause]), "cause"
        ),
    }


def _by_member(lines: CostLineQuerySet) -> tuple[Share, ...]:
    kinds = dict(Member.Kind.choices)
    sums = (
        lines.order_by()
        .values_list("member_id", "member__mark", "member__kind")
        .annotate(total=Sum("home_minor"))
    )
    return tuple(
        Share("Not tied to a member", minor, only=condition("member", None))
        if pk is None
        else Share(
            f"{mark} · {kinds[kind]}",
            minor,
            reverse("member-detail", args=[pk]),
            condition("member", pk),
        )
        for pk, mark, kind, minor in sorted(sums, key=lambda group: -group[3])
    )


def _by_building(lines: CostLineQuerySet) -> tuple[Share, ...]:
    sums = (
        lines.order_by()
        .values_list("building_id", "building__name")
        .annotate(total=Sum("home_minor"))
    )
    return tuple(
        Share(name, minor, reverse("cost-building", args=[pk]), condition("building", pk))
        for pk, name, minor in sorted(sums, key=lambda group: -group[2])
    )


def buildings_with_cost(
    buildings: BuildingQuerySet, period: Period, told: CostLineQuerySet | None = None
) -> BuildingQuerySet:
    """Adds `cost_minor` and `line_count`, so that a list can be sorted by what was spent."""
    lines = period.lines(all_of(told).filter(building=OuterRef("pk")))
    per_building = lines.order_by().values("building")
    return buildings.annotate(
        cost_minor=Coalesce(
            Subquery(per_building.annotate(total=Sum("home_minor")).values("total")), 0
        ),
        line_count=Coalesce(Subquery(per_building.annotate(lines=Count("pk")).values("lines")), 0),
    )

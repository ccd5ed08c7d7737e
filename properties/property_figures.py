"""What the list of properties says of each: its owner, and how much of what stands there."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import Count, IntegerField, Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from properties.models import Building, Defect, Member, Ownership, Property


def with_figures(properties: QuerySet[Property], on: date) -> QuerySet[Property]:
    """Adds `owner_now`, `building_count`, `member_count`, `defect_count` and `worst_urgency`.

    Each is a subquery of its own, so that the page asks once whatever its length."""
    here = OuterRef("pk")
    holding = Ownership.objects.filter(property=here, from_on__lte=on).filter(
        Q(to_on__isnull=True) | Q(to_on__gt=on)
    )
    defects = Defect.objects.outstanding().on_what_stands()
    defects = defects.filter(member__building__property=here)
    return properties.annotate(
        owner_now=Subquery(holding.values("owner__name")[:1]),
        building_count=_count(Building.objects.standing().filter(property=here), "property"),
        member_count=_count(
            Member.objects.standing().filter(building__property=here), "building__property"
        ),
        defect_count=_count(defects, "member__building__property"),
        worst_urgency=Subquery(_grouped(defects, "member__building__property", Max("urgency"))),
    )


def _grouped(rows: QuerySet[Any], by: str, figure: Any) -> QuerySet[Any]:
    return rows.order_by().values(by).annotate(figure=figure).values("figure")


def _count(rows: QuerySet[Any], by: str) -> Coalesce:
    return Coalesce(Subquery(_grouped(rows, by, Count("pk"))), 0, output_field=IntegerField())

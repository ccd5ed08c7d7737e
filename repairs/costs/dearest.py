"""The members that cost most."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from django.db.models import Sum

from properties.models import Member
from repairs.costs.period import Period
from repairs.costs.shares import Share, condition
from repairs.models import Repair
from repairs.models.costs import CostLineQuerySet

HOW_MANY = 5


@dataclass(frozen=True)
class DearMember:
    """`repairs` were begun on it in the days asked for, those withdrawn not counted."""

    share: Share
    repairs: int


def dearest_members(
    lines: CostLineQuerySet, period: Period, with_building: bool
) -> tuple[DearMember, ...]:
    """Members that cost more than they brought back, the dearest first."""
    sums = list(
        lines.filter(member__isnull=False)
        .order_by()
        .values_list("member")
        .annotate(total=Sum("home_minor"))
        .filter(total__gt=0)
        .order_by("-total", "member")[:HOW_MANY]
    )
    members = Member.objects.select_related("building__property").in_bulk([pk for pk, _ in sums])
    counts = _repairs(members, period)
    return tuple(
        DearMember(_share(members[pk], minor, with_building), counts[pk]) for pk, minor in sums
    )


def _share(member: Member, minor: int, with_building: bool) -> Share:
    words = f"{member.mark} · {member.get_kind_display()}"
    if with_building:
        words = f"{words}, {member.building.name}"
    return Share(words, minor, member.get_absolute_url(), condition("member", member.pk))


def _repairs(members: dict[int, Member], period: Period) -> Counter[int]:
    begun = Repair.objects.standing().filter(member__in=members).order_by()
    return Counter(
        pk
        for pk, at in begun.values_list("member", "began_at")
        if period.holds(members[pk].building.property.day_of(at))
    )

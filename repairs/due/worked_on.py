"""The days that looks and repaints count from: when a repair was done and when it was painted."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db.models import Q, prefetch_related_objects

from properties.models import Member
from repairs.models import Repair, Stage


def worked_on(repair: Repair) -> date:
    """The day that a repair's looks count from, by the clock where it stands."""
    done_at = repair.ended_at or repair.began_at
    return repair.member.building.property.day_of(done_at)


def painted_on(repair: Repair) -> date | None:
    """The day of its last coat by the clock where it stands; None where it was not painted."""
    prefetch_related_objects([repair], "stages")
    painted = [stage for stage in repair.stages.all() if stage.kind == Stage.Kind.PAINT]
    if painted:
        stage = painted[-1]
        return repair.member.building.property.day_of(stage.ended_at or stage.began_at)
    return worked_on(repair) if repair.kind == Repair.Kind.REPAINT else None


def last_painted_on(member: Member) -> date | None:
    """When any of the member was last painted, as far as it is recorded."""
    return last_painted_of([member]).get(member.pk)


def last_painted_of(members: Iterable[Member]) -> dict[int, date]:
    """The same of many members at once, by member; those never painted are left out."""
    of = {member.pk: member for member in members}
    painted = Q(kind=Repair.Kind.REPAINT) | Q(stages__kind=Stage.Kind.PAINT)
    repairs = Repair.objects.standing().filter(painted, member__in=of).distinct()
    found: dict[int, date] = {}
    for repair in repairs.prefetch_related("stages"):
        day, pk = _day(repair, of[repair.member_id]), repair.member_id
        if day is not None:
            found[pk] = max(day, found.get(pk, day))
    return found


def _day(repair: Repair, member: Member) -> date | None:
    # Its clock is known already; without this each repair would ask for its place.
    repair.member = member
    return painted_on(repair)

"""The facts that rules ask about, gathered for one member; only what some rule asks is read."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from django.utils import timezone

from properties.models import Member
from properties.normals import hazard_of, normals_of
from repairs.due.facts import LookFacts
from repairs.models import DueRule, Inspection, Repair
from repairs.models.due_dates import DueKind


def is_temporary(repair: Repair) -> bool:
    return repair.temporary or repair.kind == Repair.Kind.MAKE_SAFE


def facts_for(
    rules: Collection[DueRule], member: Member, kind: str, repair: Repair | None
) -> LookFacts:
    """What those rules may ask of a member and of the repair that the look is about."""
    of = member.building.property
    hazard = hazard_of(normals_of(of)) if any(rule.climate for rule in rules) else None
    return LookFacts(
        member_kind=member.kind,
        exposure=member.exposure,
        finish=member.finish,
        use_class=member.use_class,
        repair_kind=repair.kind if repair else "",
        temporary=is_temporary(repair) if repair else None,
        age=_age(rules, member, kind, repair, of.day_of(timezone.now())),
        condition=_condition(member) if any(rule.worst_condition for rule in rules) else "",
        climate=hazard.level if hazard else "",
    )


def _condition(member: Member) -> str:
    """The condition class of the newest look that tells one."""
    told = Inspection.objects.filter(member=member).exclude(condition="")
    newest = told.order_by("-looked_on", "-pk").first()
    return newest.condition if newest else ""


def _age(
    rules: Collection[DueRule], member: Member, kind: str, repair: Repair | None, on: date
) -> int | None:
    if not any(rule.age_from_years or rule.age_to_years for rule in rules):
        return None
    if kind == DueKind.MEMBER_LOOK or repair is None:
        return on.year - member.installed_year if member.installed_year else None
    ended = (repair.ended_at or repair.began_at).date()
    return on.year - ended.year - ((on.month, on.day) < (ended.month, ended.day))

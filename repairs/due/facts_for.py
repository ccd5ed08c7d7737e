"""The facts that rules ask about, gathered for one member; only what some rule asks is read."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.utils import timezone

from properties.models import Building, Member, MonthlyNormal
from properties.normals import hazard_of, means_of, normals_of
from repairs.due.facts import LookFacts, whole_years
from repairs.due.seasons import ANY_DAY, DayRules, PlaceYear
from repairs.due.worked_on import last_painted_on, painted_on, worked_on
from repairs.models import DueRule, Inspection, Repair
from repairs.models.due_dates import DueKind

# What is read from other rows than those of the member and of the repair.
READ_ELSEWHERE = frozenset({"age_from_years", "worst_condition", "climate"})


def is_temporary(repair: Repair) -> bool:
    return _is_temporary(repair.kind, repair.temporary)


def _is_temporary(repair_kind: str, marked: bool | None) -> bool:
    return bool(marked) or repair_kind == Repair.Kind.MAKE_SAFE


def facts_for(
    rules: Collection[DueRule], member: Member, kind: str, repair: Repair | None
) -> LookFacts:
    """What those rules may ask of a member and of the repair that the look is about."""
    return KnownOf(member).facts(rules, kind, repair)


def facts_of(member: Member, repair: Repair | None) -> LookFacts:
    """What the records of the member and of the repair tell by themselves."""
    of_repair = (repair.kind, repair.temporary) if repair else (None, None)
    return facts_told(member.kind, member.exposure, member.finish, member.use_class, *of_repair)


def facts_told(
    member_kind: str, exposure: str, finish: str, use_class: str,
    repair_kind: str | None, temporary: bool | None,
) -> LookFacts:  # fmt: skip
    """The same by the columns alone, those of the repair None without one: neither age, nor the
    condition at the last look, nor the climate."""
    return LookFacts(
        member_kind=member_kind,
        exposure=exposure,
        finish=finish,
        use_class=use_class,
        repair_kind=repair_kind or "",
        temporary=_is_temporary(repair_kind, temporary) if repair_kind else None,
    )


def asked_of(rules: Collection[DueRule], plain: LookFacts) -> set[str]:
    """What must be read elsewhere to know which of the rules is the first that fits."""
    asked: set[str] = set()
    for rule in sorted(rules, key=lambda each: (each.place, each.code)):
        wrong = set(rule.misfits(plain))
        if not wrong:
            break
        if wrong <= READ_ELSEWHERE:
            asked |= wrong
    return asked


def age_of(
    member: Member, kind: str, repair: Repair | None, last_painted: date | None, on: date
) -> int | None:
    """Whole years on a day: of the repair, of the coating, or of the member, of which only the
    year is known. A repair not yet recorded is new."""
    if kind == DueKind.MEMBER_LOOK:
        return max(on.year - member.installed_year, 0) if member.installed_year else None
    if kind == DueKind.REPAIR_LOOK:
        since: date | None = worked_on(repair) if repair else on
    else:
        since = (painted_on(repair) if repair else None) or last_painted
    return whole_years(since, on) if since else None


class KnownOf:
    """One member and its place; each thing is read once, at first need."""

    def __init__(self, member: Member) -> None:
        self.member = member
        self.property = member.building.property

    @cached_property
    def today(self) -> date:
        return self.property.day_of(timezone.now())

    @cached_property
    def normals(self) -> list[MonthlyNormal]:
        return normals_of(self.property)

    @cached_property
    def condition(self) -> str:
        """The condition class of the newest look that tells one."""
        told = Inspection.objects.filter(member=self.member).exclude(condition="")
        newest = told.order_by("-looked_on", "-pk").values_list("condition", flat=True)
        return newest.first() or ""

    @cached_property
    def last_painted(self) -> date | None:
        return last_painted_on(self.member)

    @property
    def means(self) -> tuple[float, ...] | None:
        """The mean air of the twelve months; None where not all are recorded."""
        return means_of(self.normals)

    @property
    def latitude(self) -> float | None:
        """That of its building, else of the first of the property that has one."""
        own = self.member.building.latitude
        latitude = self.other_latitude if own is None else own
        return None if latitude is None else float(latitude)

    @cached_property
    def other_latitude(self) -> Decimal | None:
        placed = Building.objects.filter(property=self.property, latitude__isnull=False)
        return placed.order_by("name").values_list("latitude", flat=True).first()

    def days(self, seasons: Collection[str], frost_free: bool, window_days: int) -> DayRules:
        if not seasons and not frost_free:
            return ANY_DAY
        means = self.means if frost_free else None
        return PlaceYear(self.latitude, means).days(tuple(seasons), frost_free, window_days)

    def facts(
        self,
        rules: Collection[DueRule],
        kind: str,
        repair: Repair | None,
        temporary: bool | None = None,
        *,
        all_of_them: bool = False,
    ) -> LookFacts:
        """`temporary` speaks for a repair not yet recorded; `all_of_them` also reads what does
        not matter to which rule is the first that fits."""
        plain = facts_of(self.member, repair)
        if repair is not None:
            repair.member = self.member  # its place is known already
        else:
            plain = replace(plain, temporary=temporary)
        asked = READ_ELSEWHERE if all_of_them else asked_of(rules, plain)
        return self.with_asked(plain, asked, kind, repair)

    def with_asked(
        self, plain: LookFacts, asked: Collection[str], kind: str, repair: Repair | None
    ) -> LookFacts:
        """Those facts, and what is asked of the others."""
        hazard = hazard_of(self.normals) if "climate" in asked else None
        return replace(
            plain,
            age=self._age(kind, repair) if "age_from_years" in asked else None,
            condition=self.condition if "worst_condition" in asked else "",
            climate=hazard.level if hazard else "",
        )

    def _age(self, kind: str, repair: Repair | None) -> int | None:
        coated = kind in {DueKind.COATING_LOOK, DueKind.REPAINT} and repair is None
        last = self.last_painted if coated else None
        return age_of(self.member, kind, repair, last, self.today)

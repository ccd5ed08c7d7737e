"""How often one kind of look comes round on one member, and by whose word."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import islice

from properties.models import Member
from repairs.due.facts_for import facts_for
from repairs.due.series import NextStep, Series, half_way_after, next_after
from repairs.models import DueDate, DueRule, Inspection, MemberInterval, Repair
from repairs.models.due_dates import DueKind, first_fitting

Result = Inspection.Result
USUAL_WINDOW_DAYS = 14


@dataclass(frozen=True)
class Pace:
    """A person's own interval for the member, else the first rule that fits; by neither, a date
    stands alone."""

    rule: DueRule | None
    own: MemberInterval | None

    def series(self) -> Series | None:
        if self.own is not None:
            return Series((), self.own.months, self.rule.from_done if self.rule else False)
        return self.rule.series() if self.rule else None

    def words(self) -> str:
        if self.own is not None:
            every = months_in_words(self.own.months)
            return f"Every {every}, set for this member: {self.own.reason}"
        return self.rule.words if self.rule else ""

    def first_date(self, counted_from: date, on: date) -> NextStep | None:
        """The first day of the series. Entered long after the work, it begins with the day that
        is still to come: nobody could have kept the days before it."""
        series = self.series()
        if series is None:
            return None
        return series.first_after(counted_from, on - timedelta(days=self.window_days() + 1))

    def window_days(self) -> int:
        return self.rule.window_days if self.rule else USUAL_WINDOW_DAYS


def months_in_words(months: int) -> str:
    if months % 12 == 0:
        return "year" if months == 12 else f"{months // 12} years"
    return "month" if months == 1 else f"{months} months"


def pace_for(member: Member, kind: str, repair: Repair | None = None) -> Pace:
    own = MemberInterval.objects.filter(member=member, kind=kind).first()
    return Pace(_winning(list(_of_kind(kind)), member, kind, repair), own)


def _of_kind(kind: str) -> Iterable[DueRule]:
    return DueRule.objects.in_force().filter(kind=kind)


def _winning(
    rules: list[DueRule], member: Member, kind: str, repair: Repair | None
) -> DueRule | None:
    return first_fitting(rules, facts_for(rules, member, kind, repair))


def repair_paces(member: Member) -> tuple[Pace, Pace]:
    """How a lasting repair of the member is looked at, and how a temporary one."""
    rules = list(_of_kind(DueKind.REPAIR_LOOK))
    own = MemberInterval.objects.filter(member=member, kind=DueKind.REPAIR_LOOK).first()
    facts = facts_for(rules, member, DueKind.REPAIR_LOOK, None)
    lasting, temporary = (
        first_fitting(rules, replace(facts, temporary=each)) for each in (False, True)
    )
    return Pace(lasting, own), Pace(temporary, own)


def paces_for(member: Member) -> dict[DueKind, Pace]:
    """Every kind of look at a member and its lasting repairs."""
    rules = list(DueRule.objects.in_force())
    own = {interval.kind: interval for interval in member.intervals.all()}

    def pace(kind: DueKind) -> Pace:
        of_kind = [rule for rule in rules if rule.kind == kind]
        facts = replace(facts_for(of_kind, member, kind, None), temporary=False)
        return Pace(first_fitting(of_kind, facts), own.get(kind))

    return {kind: pace(kind) for kind in DueKind}


def pace_of(due: DueDate) -> Pace:
    """The pace of a date's series; empty for a date that a person set for once."""
    pace = pace_for(due.member, due.kind, due.repair)
    return pace if due.rule_id is not None else Pace(None, pace.own)


def next_date(due: DueDate, result: str, looked_on: date) -> NextStep | None:
    """The day that comes after a look with this result; None where none follows by rule."""
    if result == Result.NOT_REACHED:
        return NextStep(due.step, due.due_on, due.counted_from)
    series = pace_of(due).series()
    if series is None:
        return None
    sooner = result in {Result.WATCH, Result.REDO}
    return (half_way_after if sooner else next_after)(series, due.standing(), looked_on)


def coming_days(due: DueDate, how_many: int = 4, on: date = date.min) -> list[date]:
    """The date itself and those after it, if every look is kept on its day and found sound; what
    is overdue on a day counts as looked at on that day."""
    return _days_by(pace_of(due), due, how_many, on)


@dataclass(frozen=True)
class Planned:
    """A date that stands, the days that would come after it, and by what."""

    due: DueDate
    then: tuple[date, ...]
    pace: Pace


def planned_on(member: Member, dates: Iterable[DueDate], on: date) -> list[Planned]:
    """One member's outstanding dates, as `with_own_months` brings them, with what comes after
    each, in one query; none where there is no date."""
    dates = list(dates)
    if not dates:
        return []
    rules = list(DueRule.objects.in_force())

    def pace(due: DueDate) -> Pace:
        months: int | None = due.own_months  # type: ignore[attr-defined]
        own = MemberInterval(months=months) if months else None
        if due.rule_id is None:
            return Pace(None, own)
        of_kind = [rule for rule in rules if rule.kind == due.kind]
        return Pace(_winning(of_kind, member, due.kind, due.repair), own)

    def planned(due: DueDate) -> Planned:
        by = pace(due)
        return Planned(due, tuple(_days_by(by, due, 4, on)[1:]), by)

    return [planned(due) for due in dates]


def _days_by(pace: Pace, due: DueDate, how_many: int, on: date) -> list[date]:
    series = pace.series()
    if series is None:
        return [due.due_on]
    return list(islice(_days_from(series, due, on), how_many))


def _days_from(series: Series, due: DueDate, on: date) -> Iterator[date]:
    standing = due.standing()
    while True:
        yield standing.due_on
        looked_on = max(standing.due_on, on)
        standing = standing.followed_by(next_after(series, standing, looked_on))

"""How often one kind of look comes round on one member, and by whose word."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import islice

from properties.models import Member
from repairs.due.facts_for import KnownOf
from repairs.due.seasons import ANY_DAY, DayRules, moved_day
from repairs.due.series import NextStep, Series, Standing, Steps, next_after
from repairs.models import DueDate, DueRule, MemberInterval, Repair
from repairs.models.due_dates import DueKind, first_fitting

USUAL_WINDOW_DAYS = 14
# Half an interval in days, for each of its months; a window on a person's own is no longer.
HALF_A_MONTH = 15


@dataclass(frozen=True)
class Pace:
    """A person's own interval for the member, else the first rule that fits; by neither, a date
    stands alone. `days` is what that rule allows where the member stands."""

    rule: DueRule | None
    own: MemberInterval | None
    days: DayRules = ANY_DAY

    @property
    def in_time(self) -> bool:
        """An interval between looks is the longest one; a repaint may wait for its season."""
        return self.rule is not None and self.rule.kind != DueKind.REPAINT

    def series(self) -> Series | None:
        if self.own is not None:
            return Steps((), self.own.months, self.rule.from_done if self.rule else False)
        return self.rule.series() if self.rule else None

    def words(self) -> str:
        if self.own is not None:
            every = months_in_words(self.own.months)
            return f"Every {every}, set for this member: {self.own.reason}"
        return self.rule.words if self.rule else ""

    def because(self, step: NextStep | None) -> str:
        """What a date set by it keeps: whose word it is, and from where its day was moved."""
        words, moved = self.words(), step.moved if step else ""
        return f"{words.rstrip('.')}. {moved}" if moved else words

    def first_date(self, counted_from: date, on: date) -> NextStep | None:
        """The first day of the series. Entered long after the work, it begins with the day that
        is still to come: nobody could have kept the days before it."""
        series = self.series()
        if series is None:
            return None
        before = on - timedelta(days=self.window_days() + 1)
        return day_by_rule(self, series.first_after(counted_from, before), counted_from, before)

    def window_days(self) -> int:
        window = self.rule.window_days if self.rule else USUAL_WINDOW_DAYS
        if self.own is not None:
            return min(window, self.own.months * HALF_A_MONTH)
        return window


def day_by_rule(
    pace: Pace, step: NextStep, since: date, not_before: date = date.min, sooner: bool = False
) -> NextStep:
    """The day that a rule sets: that of a step of its series, moved into its seasons and out of
    frost. Every date that a rule sets goes through here.

    `since` is the day of the look or work before it: a day is moved to no less than half the time
    from there, and to one after `not_before`. What is wanted sooner, after 'watch', keeps out of
    frost but waits for no season. The series goes on from the step's own day."""
    days = replace(pace.days, seasons=()) if sooner else pace.days
    found = moved_day(step.due_on, max(since, not_before), days, pace.in_time)
    if found.day != step.due_on:
        least = since + _half_before(pace, step, since, sooner)
        found = moved_day(step.due_on, max(least, not_before), days, pace.in_time)
    return replace(step, due_on=found.day, moved=found.words)


def _half_before(pace: Pace, step: NextStep, since: date, sooner: bool) -> timedelta:
    series = pace.series()
    if sooner or series is None:
        return (step.due_on - since) // 2
    return timedelta(days=HALF_A_MONTH * series.gap_before(step.step))


def months_in_words(months: int) -> str:
    if months % 12 == 0:
        return "year" if months == 12 else f"{months // 12} years"
    return "month" if months == 1 else f"{months} months"


def pace_for(
    member: Member, kind: str, repair: Repair | None = None, known: KnownOf | None = None
) -> Pace:
    own = MemberInterval.objects.filter(member=member, kind=kind).first()
    return _pace(list(_of_kind(kind)), known or KnownOf(member), kind, repair, own)


def _of_kind(kind: str) -> Iterable[DueRule]:
    return DueRule.objects.in_force().filter(kind=kind)


def _pace(
    rules: list[DueRule], known: KnownOf, kind: str, repair: Repair | None,
    own: MemberInterval | None, temporary: bool | None = None,
) -> Pace:  # fmt: skip
    rule = first_fitting(rules, known.facts(rules, kind, repair, temporary))
    return paced(rule, own, known)


def paced(rule: DueRule | None, own: MemberInterval | None, known: KnownOf) -> Pace:
    """The pace by a rule that fits. A person's own interval keeps out of frost as the rule does,
    but comes round in every season: an interval of months says when."""
    pace = Pace(rule, own)
    if rule is None:
        return pace
    seasons = rule.seasons if own is None else ()
    return replace(pace, days=known.days(seasons, rule.frost_free, pace.window_days()))


def repair_paces(member: Member) -> tuple[Pace, Pace]:
    """How a lasting repair of the member is looked at, and how a temporary one."""
    kind = DueKind.REPAIR_LOOK
    rules, known = list(_of_kind(kind)), KnownOf(member)
    own = MemberInterval.objects.filter(member=member, kind=kind).first()
    lasting, temporary = (_pace(rules, known, kind, None, own, each) for each in (False, True))
    return lasting, temporary


def paces_for(member: Member) -> dict[DueKind, Pace]:
    """Every kind of look at a member and its lasting repairs."""
    rules, known = list(DueRule.objects.in_force()), KnownOf(member)
    own = {interval.kind: interval for interval in member.intervals.all()}

    def pace(kind: DueKind) -> Pace:
        of_kind = [rule for rule in rules if rule.kind == kind]
        return _pace(of_kind, known, kind, None, own.get(kind), temporary=False)

    return {kind: pace(kind) for kind in DueKind}


def pace_of(due: DueDate, known: KnownOf | None = None) -> Pace:
    """The pace of a date's series; empty for a date that a person set for once."""
    pace = pace_for(due.member, due.kind, due.repair, known)
    return pace if due.rule_id is not None else Pace(None, pace.own)


def following(pace: Pace, series: Series, answered: Standing, looked_on: date) -> NextStep:
    return day_by_rule(pace, next_after(series, answered, looked_on), looked_on)


def coming_days(
    due: DueDate, how_many: int = 4, on: date = date.min, known: KnownOf | None = None
) -> list[date]:
    """The date itself and those after it, if every look is kept on its day and found sound; what
    is overdue on a day counts as looked at on that day."""
    return days_by(pace_of(due, known), due.standing(), how_many, on)


@dataclass(frozen=True)
class Planned:
    """A date that stands, the days that would come after it, and by what."""

    due: DueDate
    then: tuple[date, ...]
    pace: Pace


def planned_on(
    member: Member, dates: Iterable[DueDate], on: date, known: KnownOf | None = None
) -> list[Planned]:
    """One member's outstanding dates, as `with_own_months` brings them, with what comes after
    each, in few queries that do not grow with the dates; none where there is no date."""
    dates = list(dates)
    if not dates:
        return []
    rules, known = list(DueRule.objects.in_force()), known or KnownOf(member)

    def pace(due: DueDate) -> Pace:
        months: int | None = due.own_months  # type: ignore[attr-defined]
        own = MemberInterval(months=months) if months else None
        if due.rule_id is None:
            return Pace(None, own)
        of_kind = [rule for rule in rules if rule.kind == due.kind]
        return _pace(of_kind, known, due.kind, due.repair, own)

    def planned(due: DueDate) -> Planned:
        by = pace(due)
        return Planned(due, tuple(days_by(by, due.standing(), 4, on)[1:]), by)

    return [planned(due) for due in dates]


def days_by(pace: Pace, standing: Standing, how_many: int, on: date = date.min) -> list[date]:
    """A date and those that come after it at a pace, as `coming_days` counts them."""
    series = pace.series()
    if series is None:
        return [standing.due_on]
    return list(islice(_days_from(pace, series, standing, on), how_many))


def _days_from(pace: Pace, series: Series, standing: Standing, on: date) -> Iterator[date]:
    while True:
        yield standing.due_on
        looked_on = max(standing.due_on, on)
        standing = standing.followed_by(following(pace, series, standing, looked_on))

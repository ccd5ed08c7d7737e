"""The schedule of looks and repaints: what follows from a repair and from a look.

Only the next date of a series is a row, since somebody agreed to it; what comes after that is
computed. Each row says which rule or person set it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from django.db import connection
from django.db.models import prefetch_related_objects

from properties.models import Member
from repairs.due.intervals import DEFAULT_RULES, add_months, default_places
from repairs.due.pace import USUAL_WINDOW_DAYS, Pace, next_date, pace_for, pace_of
from repairs.due.series import NextStep
from repairs.models import DueDate, DueRule, Inspection, Repair, Stage
from repairs.models.due_dates import DueKind

if TYPE_CHECKING:
    from django.contrib.auth.models import User

Result = Inspection.Result
SetBy = DueDate.SetBy
WATCH_WORDS = "Half the usual interval after 'watch' (common practice, no source)"


@dataclass(frozen=True)
class NextLook:
    """A day that a person chose in place of the rule's, and why."""

    on: date
    reason: str


def person_words(by: User | None, reason: str = "") -> str:
    name = (by.get_full_name() or by.get_username()) if by is not None else "a person"
    return f"Set by {name}: {reason}" if reason else f"Set by {name}"


# After a repair


def after_repair(
    repair: Repair, by: User | None, on: date, first_on: date | None = None
) -> list[DueDate]:
    """Set what a repair asks for: its first look, the look at its coating, the repaint. The
    looks at the repair that it does again are called off. Asked twice, it sets nothing twice."""
    if repair.state in {Repair.State.WITHDRAWN, Repair.State.FAILED}:
        return []
    if repair.follows is not None:
        cancel_for_repair(repair.follows, f"Done again on {worked_on(repair):%-d %B %Y}", on)
    if not repair.member.is_looked_after(on):
        return []
    found = [
        _repair_look(repair, by, on, first_on),
        _renew(repair, DueKind.COATING_LOOK, on),
        repaint_after(repair, by, on),
    ]
    return [due for due in found if due is not None]


def worked_on(repair: Repair) -> date:
    """The day that a repair's looks count from, by the clock where it stands."""
    done_at = repair.ended_at or repair.began_at
    return done_at.astimezone(repair.member.building.property.zone).date()


def _repair_look(
    repair: Repair, by: User | None, on: date, first_on: date | None
) -> DueDate | None:
    # A repaint is followed by looks at the coating; a date typed by a person is kept anyway.
    if repair.kind == Repair.Kind.REPAINT and first_on is None:
        return None
    if repair.due_dates.filter(kind=DueKind.REPAIR_LOOK).exists():
        return None
    pace = pace_for(repair.member, DueKind.REPAIR_LOOK, repair)
    first, because = pace.first_date(worked_on(repair), on), pace.words()
    if first_on is not None:
        first = NextStep(first.step if first else 0, first_on, worked_on(repair))
        because = person_words(by, "when the repair was logged")
    if first is None:
        return None
    set_by = SetBy.PERSON if first_on is not None else SetBy.RULE
    return _set(
        repair.member, DueKind.REPAIR_LOOK, pace, first, because, repair=repair, set_by=set_by
    )


def repaint_after(repair: Repair, by: User | None, on: date) -> DueDate | None:
    """The next repaint, by finish and exposure. A patch painted sets one only where none is
    planned; the whole member painted answers the planned one and counts anew."""
    return _renew(repair, DueKind.REPAINT, on)


def _renew(repair: Repair, kind: str, on: date) -> DueDate | None:
    painted_on = _painted_on(repair)
    if painted_on is None:
        return None
    planned = list(DueDate.objects.outstanding().filter(member=repair.member, kind=kind))
    if any(due.repair_id == repair.pk for due in planned):
        return None
    if planned and not _paints_all(repair):
        return None
    for due in planned:
        if kind == DueKind.REPAINT:
            due.answer(painted_on)
        else:
            due.call_off(on, f"Repainted on {painted_on:%-d %B %Y}; counted anew from there")
    pace = pace_for(repair.member, kind, repair)
    first = pace.first_date(painted_on, on)
    if first is None:
        return None
    return _set(repair.member, kind, pace, first, pace.words(), repair=repair)


def _paints_all(repair: Repair) -> bool:
    """Whether it renewed the coating of the whole member, and not of a patch."""
    return repair.kind == Repair.Kind.REPAINT or repair.zone == "whole"


def _painted_on(repair: Repair) -> date | None:
    prefetch_related_objects([repair], "stages")
    painted = [stage for stage in repair.stages.all() if stage.kind == Stage.Kind.PAINT]
    stage = painted[-1] if painted else None
    if stage is not None:
        zone = repair.member.building.property.zone
        return (stage.ended_at or stage.began_at).astimezone(zone).date()
    return worked_on(repair) if repair.kind == Repair.Kind.REPAINT else None


def _set(
    member: Member, kind: str, pace: Pace | None, step: NextStep, because: str, **more: Any
) -> DueDate:
    return DueDate.objects.create(
        member=member,
        kind=kind,
        rule=pace.rule if pace else None,
        window_days=pace.window_days() if pace else USUAL_WINDOW_DAYS,
        due_on=step.due_on,
        step=step.step,
        counted_from=step.counted_from,
        set_because=because[:300],
        **more,
    )


# After a look


def after_inspection(
    inspection: Inspection, by: User | None, on: date, next_look: NextLook | None = None
) -> list[DueDate]:
    """Answer the due date and set the next. A member that could not be reached leaves its date
    standing; a repair found failed has no further looks until it is done again."""
    if inspection.result == Result.NOT_REACHED:
        return []
    due = inspection.due
    if due is not None:
        due.answer(inspection.looked_on)
    repair = inspection.repair
    failed = repair is not None and repair.state == Repair.State.FAILED
    if repair is not None and failed:
        reason = f"The repair was found failed on {inspection.looked_on:%-d %B %Y}"
        cancel_for_repair(repair, reason, on)
    if not inspection.member.is_looked_after(on):
        return []
    if due is None or (failed and due.kind == DueKind.REPAIR_LOOK):
        return _after_extra_look(inspection, by, next_look)
    return _set_next(inspection, due, by, next_look)


def _set_next(
    inspection: Inspection, due: DueDate, by: User | None, next_look: NextLook | None
) -> list[DueDate]:
    pace = pace_of(due)
    found, because = next_date(due, inspection.result, inspection.looked_on), pace.words()
    if inspection.result in {Result.WATCH, Result.REDO}:
        because = f"{WATCH_WORDS}. {because}"
    if next_look is not None:
        step = found or NextStep(due.step, next_look.on, inspection.looked_on)
        found = NextStep(step.step, next_look.on, step.counted_from)
        because = person_words(by, next_look.reason)
    if found is None:
        return []
    set_by = SetBy.PERSON if next_look is not None else SetBy.RULE
    more = {"repair": due.repair, "person": due.person, "set_by": set_by}
    return [_set(due.member, due.kind, pace, found, because, **more)]


def _after_extra_look(
    inspection: Inspection, by: User | None, next_look: NextLook | None
) -> list[DueDate]:
    """An extra look changes no plan, unless a person names a day, or it says 'watch': then the
    next planned look of its kind is brought forward."""
    if next_look is not None:
        kind = DueKind.REPAIR_LOOK if inspection.repair else DueKind.MEMBER_LOOK
        step = NextStep(0, next_look.on, inspection.looked_on)
        because = person_words(by, next_look.reason)
        more = {"repair": inspection.repair, "set_by": SetBy.PERSON}
        return [_set(inspection.member, kind, None, step, because, **more)]
    if inspection.result != Result.WATCH:
        return []
    planned = DueDate.objects.outstanding().looks().filter(member=inspection.member)
    due = planned.filter(repair=inspection.repair).first()
    series = pace_of(due).series() if due else None
    if due is None or series is None:
        return []
    half = max(series.gap_before(due.step) // 2, 1)
    sooner = add_months(inspection.looked_on, half)
    if sooner < due.due_on:
        due.move(sooner, f"{WATCH_WORDS} on {inspection.looked_on:%-d %B %Y}", SetBy.RULE)
    return [due]


# By a person's word


def set_by_person(
    member: Member, kind: str, look: NextLook, by: User, comes_back: bool, **more: Any
) -> DueDate:
    """A date of a person's own; one that comes back goes on at the pace of the rule set."""
    pace = pace_for(member, kind) if comes_back else None
    series = pace.series() if pace else None
    counted_from = look.on
    if series is not None and not series.first_months:
        counted_from = add_months(look.on, -series.then_months)
    step = NextStep(0, look.on, counted_from)
    more["set_by"] = SetBy.PERSON
    return _set(member, kind, pace, step, person_words(by, look.reason), **more)


def pace_changed(member: Member, kind: str, by: User) -> list[DueDate]:
    """Move the planned dates of a kind to the member's new interval, counted from the last
    look of that kind, else from where the series began."""
    moved = []
    planned = DueDate.objects.outstanding().filter(member=member, kind=kind)
    for due in planned.select_related("member", "repair"):
        pace = pace_of(due)
        series = pace.series()
        if series is None:
            continue
        done = DueDate.objects.filter(member=member, kind=kind, repair=due.repair)
        last = done.exclude(done_on=None).order_by("-done_on").first()
        last_on = last.done_on if last and last.done_on else due.counted_from
        due.move(add_months(last_on, series.gap_before(due.step)), pace.words(), SetBy.RULE)
        moved.append(due)
    return moved


# Called off


def cancel_for_member(member: Member, reason: str, on: date) -> int:
    return _call_off(DueDate.objects.outstanding().filter(member=member), reason, on)


def cancel_for_repair(repair: Repair, reason: str, on: date) -> int:
    """Call off the looks at one repair; what is planned for its paint goes with the member."""
    looks = DueDate.objects.outstanding().filter(repair=repair, kind=DueKind.REPAIR_LOOK)
    return _call_off(looks, reason, on)


def _call_off(dates: Iterable[DueDate], reason: str, on: date) -> int:
    """One by one, so that the record keeps who changed each."""
    dates = list(dates)
    for due in dates:
        due.call_off(on, reason)
    return len(dates)


# The rule set that an installation begins with


def seed_rules(**kwargs: Any) -> None:
    """Create the default rules that are missing; what a person changed is never overwritten.
    Run after every migrate."""
    if DueRule._meta.db_table not in connection.introspection.table_names():
        return
    known = set(DueRule.objects.values_list("code", flat=True))
    places = default_places()
    for rule in DEFAULT_RULES:
        if rule.code not in known:
            values = {**asdict(rule), "first_months": list(rule.first_months)}
            DueRule.objects.create(**values, place=places[rule.code])

"""The schedule of looks and repaints: what follows from a repair and from a person's word. What
follows from a look stands in `after_look`.

Only the next date of a series is a row, since somebody agreed to it; what comes after that is
computed. Each row says which rule or person set it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from properties.models import Member
from repairs.due.coats import paints_all
from repairs.due.facts_for import KnownOf
from repairs.due.pace import (
    USUAL_WINDOW_DAYS,
    Pace,
    day_by_rule,
    pace_for,
    pace_of,
)
from repairs.due.repaint_by_ratings import move_repaint
from repairs.due.series import NextStep
from repairs.due.worked_on import painted_on, worked_on
from repairs.models import DueDate, Repair
from repairs.models.due_dates import DueKind

if TYPE_CHECKING:
    from django.contrib.auth.models import User

SetBy = DueDate.SetBy


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
        _renew(repair, DueKind.COATING_LOOK, on, KnownOf(repair.member)),
        repaint_after(repair, by, on),
    ]
    return [due for due in found if due is not None]


def _repair_look(
    repair: Repair, by: User | None, on: date, first_on: date | None
) -> DueDate | None:
    # A repaint is followed by looks at the coating; a date typed by a person is kept anyway.
    if repair.kind == Repair.Kind.REPAINT and first_on is None:
        return None
    if repair.due_dates.filter(kind=DueKind.REPAIR_LOOK).exists():
        return None
    pace = pace_for(repair.member, DueKind.REPAIR_LOOK, repair)
    first = pace.first_date(worked_on(repair), on)
    because = pace.because(first)
    if first_on is not None:
        first = NextStep(first.step if first else 0, first_on, worked_on(repair))
        because = person_words(by, "when the repair was logged")
    if first is None:
        return None
    set_by = SetBy.PERSON if first_on is not None else SetBy.RULE
    return set_date(
        repair.member, DueKind.REPAIR_LOOK, pace, first, because, repair=repair, set_by=set_by
    )


def repaint_after(repair: Repair, by: User | None, on: date) -> DueDate | None:
    """The next repaint, by finish and exposure. A patch painted sets one only where none is
    planned; the whole member painted answers the planned one and counts anew. Entered late, it
    may find ratings of its coating, which then move the date."""
    known = KnownOf(repair.member)
    due = _renew(repair, DueKind.REPAINT, on, known)
    if due is not None and due.counted_from < on and move_repaint(repair.member, known):
        due.refresh_from_db()
    return due


def _renew(repair: Repair, kind: str, on: date, known: KnownOf) -> DueDate | None:
    done_on = painted_on(repair)
    if done_on is None:
        return None
    planned = list(DueDate.objects.outstanding().filter(member=repair.member, kind=kind))
    if any(due.repair_id == repair.pk for due in planned):
        return None
    if planned and not paints_all(repair):
        return None
    # Entered late, it is older than the coating that the planned date counts from.
    if any(due.counted_from > done_on for due in planned):
        return None
    for due in planned:
        if kind == DueKind.REPAINT:
            due.answer(done_on)
        else:
            due.call_off(on, f"Repainted on {done_on:%-d %B %Y}; counted anew from there")
    pace = pace_for(repair.member, kind, repair, known)
    first = pace.first_date(done_on, on)
    if first is None:
        return None
    return set_date(repair.member, kind, pace, first, pace.because(first), repair=repair)


def set_date(
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


# By a person's word


def set_by_person(
    member: Member, kind: str, look: NextLook, by: User, comes_back: bool, **more: Any
) -> DueDate:
    """A date of a person's own; one that comes back goes on at the pace of the rule set."""
    pace = pace_for(member, kind) if comes_back else None
    series = pace.series() if pace else None
    counted_from = series.counted_back(look.on) if series is not None else look.on
    step = NextStep(0, look.on, counted_from)
    more["set_by"] = SetBy.PERSON
    return set_date(member, kind, pace, step, person_words(by, look.reason), **more)


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
        step = NextStep(due.step, series.day_after(last_on, due.step), due.counted_from)
        found = day_by_rule(pace, step, last_on)
        due.move(found.due_on, pace.because(found), SetBy.RULE)
        moved.append(due)
    # Without an interval of its own the ratings hold again.
    if kind == DueKind.REPAINT:
        move_repaint(member)
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

"""What follows in the schedule from a look: the date that it answers, and the next one, as soon
as what was found asks for it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.db.models import prefetch_related_objects

from properties.moisture import governing
from repairs.due.intervals import add_months
from repairs.due.pace import Pace, day_by_rule, following, pace_of
from repairs.due.repaint_by_ratings import move_repaint
from repairs.due.results import (
    LookFound,
    Verdict,
    at_latest,
    because,
    judge_look,
    whole_sentences,
    worst_of_coating,
)
from repairs.due.schedule import (
    NextLook,
    SetBy,
    cancel_for_repair,
    person_words,
    set_date,
)
from repairs.due.series import NextStep, Standing, half_way_after
from repairs.models import DueDate, Inspection, Repair
from repairs.models.due_dates import DueKind

if TYPE_CHECKING:
    from django.contrib.auth.models import User

Result = Inspection.Result


def look_found(inspection: Inspection) -> LookFound:
    """The facts of a saved look that its next date follows from."""
    prefetch_related_objects([inspection], "moisture")
    wettest = governing(reading.judged() for reading in inspection.moisture.all())
    return LookFound(
        result=inspection.result,
        edge=inspection.edge,
        condition=inspection.condition,
        urgency=inspection.urgency,
        coating=worst_of_coating({name: getattr(inspection, name) for name in inspection.SIZED}),
        cross_cut=inspection.cross_cut,
        moisture_pct=wettest.governs_at_pct if wettest else None,
        over_range=wettest.over_range if wettest else False,
    )


def judged(inspection: Inspection) -> Verdict:
    return judge_look(look_found(inspection))


def heeded(pace: Pace, verdict: Verdict) -> Verdict:
    """What of a look's findings makes the next day sooner than by its rule: a rule for a condition
    has reckoned with that already."""
    by_condition = pace.own is None and pace.rule is not None and pace.rule.worst_condition
    return verdict.beside_condition_rule() if by_condition else verdict


def next_step(pace: Pace, answered: Standing, looked_on: date, verdict: Verdict) -> NextStep | None:
    """The day after a look that answers a date; by what was found never later than by the rule.
    None where no rule makes another follow, and nothing found asks for one.

    What is named in months keeps to them in season and out: it cannot wait for the spring."""
    series = pace.series()
    if series is None:
        return _for_once(answered.step, looked_on, verdict)
    usual = following(pace, series, answered, looked_on)
    found = usual
    if verdict.halves:
        half = half_way_after(series, answered, looked_on)
        sooner = day_by_rule(pace, half, looked_on, sooner=True)
        found = sooner if sooner.due_on < usual.due_on else usual
    return at_latest(found, usual, looked_on, verdict)


def _for_once(step: int, looked_on: date, verdict: Verdict) -> NextStep | None:
    if verdict.within_months is None:
        return None
    return NextStep(step, add_months(looked_on, verdict.within_months), looked_on)


def after_inspection(
    inspection: Inspection, by: User | None, on: date, next_look: NextLook | None = None
) -> list[DueDate]:
    """Answer the due date and set the next, and move the repaint by the ratings. A member that
    could not be reached leaves its date standing; a repair found failed has no further looks
    until it is done again. On what is no longer looked after nothing more is planned."""
    if inspection.result == Result.NOT_REACHED:
        return []
    due, repair = inspection.due, inspection.repair
    if due is not None:
        due.answer(inspection.looked_on)
    failed = repair is not None and repair.state == Repair.State.FAILED
    if repair is not None and failed:
        reason = f"The repair was found failed on {inspection.looked_on:%-d %B %Y}"
        cancel_for_repair(repair, reason, on)
    if not inspection.member.is_looked_after(on):
        return []
    extra = due is None or (failed and due.kind == DueKind.REPAIR_LOOK)
    follow = _after_extra_look if extra else _set_next
    dates = follow(inspection, by, next_look)
    if rates_the_coating(inspection):
        dates += move_repaint(inspection.member)
    return dates


def rates_the_coating(inspection: Inspection) -> bool:
    return any(getattr(inspection, name) is not None for name in inspection.SIZED)


def _set_next(inspection: Inspection, by: User | None, next_look: NextLook | None) -> list[DueDate]:
    due, looked_on = inspection.due, inspection.looked_on
    assert due is not None
    pace = pace_of(due)
    verdict = heeded(pace, judged(inspection))
    found = next_step(pace, due.standing(), looked_on, verdict)
    why, set_by = because(verdict, pace.because(found)), SetBy.RULE
    if next_look is not None:
        step = found or NextStep(due.step, next_look.on, looked_on)
        found = NextStep(step.step, next_look.on, step.counted_from)
        why, set_by = person_words(by, next_look.reason), SetBy.PERSON
    if found is None:
        return []
    more = {"repair": due.repair, "person": due.person, "set_by": set_by}
    return [set_date(due.member, due.kind, pace, found, why, **more)]


def _after_extra_look(
    inspection: Inspection, by: User | None, next_look: NextLook | None
) -> list[DueDate]:
    """An extra look changes no plan, unless a person names a day, or what it found asks for a
    sooner look: then the next planned one of its kind is brought forward, or one for once is set
    where none is planned in time."""
    looked_on, repair = inspection.looked_on, inspection.repair
    if next_look is not None:
        step = NextStep(0, next_look.on, looked_on)
        why = person_words(by, next_look.reason)
        return [_set_for_once(inspection, step, why, SetBy.PERSON)]
    verdict = judged(inspection)
    if not verdict.is_sooner or (repair is not None and repair.state == Repair.State.FAILED):
        return []
    planned = DueDate.objects.outstanding().looks().filter(member=inspection.member)
    due = planned.filter(repair=repair).first()
    if due is not None:
        return _bring_forward(due, looked_on, verdict)
    once = _for_once(0, looked_on, verdict)
    if once is None or planned.filter(due_on__lte=once.due_on).exists():
        return []
    why = because(verdict, f"Found on {looked_on:%-d %B %Y}")
    return [_set_for_once(inspection, once, why, SetBy.RULE)]


def _set_for_once(inspection: Inspection, step: NextStep, why: str, set_by: SetBy) -> DueDate:
    kind = DueKind.REPAIR_LOOK if inspection.repair else DueKind.MEMBER_LOOK
    more = {"repair": inspection.repair, "set_by": set_by}
    return set_date(inspection.member, kind, None, step, why, **more)


def _bring_forward(due: DueDate, looked_on: date, verdict: Verdict) -> list[DueDate]:
    """Move a planned look to the day that an extra one asks for, if that is sooner; the reason
    keeps what stood there."""
    pace = pace_of(due)
    series, standing = pace.series(), NextStep(due.step, due.due_on, due.counted_from)
    found = standing
    if verdict.halves and series is not None:
        months = max(series.gap_before(due.step) // 2, 1)
        half = NextStep(due.step, add_months(looked_on, months), due.counted_from)
        found = day_by_rule(pace, half, looked_on, sooner=True)
    found = at_latest(found, standing, looked_on, verdict)
    if found.due_on < due.due_on:
        before = f"Until then it was {due.due_on:%-d %B %Y}: {due.set_because}"
        why = because(verdict, f"Found on {looked_on:%-d %B %Y}")
        due.move(found.due_on, whole_sentences(why, before), SetBy.RULE)
    return [due]

"""Words of the form of a look: how it stood last time, and what each result leads to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from properties.models import MoistureReading
from properties.moisture import CorrectedReading, correct
from repairs.due.after_look import judged, next_step
from repairs.due.pace import Pace, pace_of
from repairs.due.results import (
    COATING_DEFECTS,
    LookFound,
    Verdict,
    judge_look,
    worst_of_coating,
)
from repairs.forms.inspections import InspectionForm
from repairs.looks.page import no_longer_words, rating_words
from repairs.looks.ratings import NAMES, NOT_APPLICABLE, SIZES
from repairs.models import DueDate, Inspection

Result = Inspection.Result


@dataclass(frozen=True)
class NextLine:
    result: str
    words: str


def as_last_time(last: Inspection) -> dict[str, str]:
    """The ratings of the last look, as the form names them; what was measured is not repeated."""
    ratings = {name: choice for name in NAMES if (choice := _choice(last, name))}
    sizes = {name: size for name in SIZES if (size := getattr(last, name))}
    return {**ratings, **sizes}


def _choice(last: Inspection, name: str) -> str:
    if name in last.not_applicable:
        return NOT_APPLICABLE[0]
    value = getattr(last, name)
    return "" if value is None else f"{value:f}".removesuffix(".0")


def next_lines(due: DueDate, on: date) -> list[NextLine]:
    """For each result, the date that would follow a look of today; then what would make it
    sooner, whatever the result."""
    pace = pace_of(due)
    lines = [NextLine(Result(each).label, _next_words(due, each, on, pace)) for each in Result]
    sound = _next_on(due, LookFound(Result.SOUND), on, pace)
    for name, found in SOONER.items():
        sooner = _next_on(due, found, on, pace)
        if sooner is not None and sooner != sound:
            lines.append(NextLine(name, f"next on {_day(sooner)} at the latest"))
    return lines


SOONER = {
    "Open joint, condition CC2, moisture 20 % or more, coating class 3, cross-cut 4, or worse": (
        LookFound(Result.SOUND, edge="open")
    ),
    "Moving, soft wood beside it, or condition CC3": LookFound(Result.SOUND, edge="moving"),
    "Urgency UC2": LookFound(Result.SOUND, urgency="UC2"),
    "Urgency UC3": LookFound(Result.SOUND, urgency="UC3"),
}


def _next_on(due: DueDate, found: LookFound, on: date, pace: Pace) -> date | None:
    step = next_step(pace, due.standing(), on, judge_look(found))
    return step.due_on if step else None


def _next_words(due: DueDate, result: str, on: date, pace: Pace) -> str:
    if result == Result.NOT_REACHED:
        return f"the date stays {_day(due.due_on)}"
    if result == Result.REDO and due.repair_id is not None:
        return "a defect is opened; the looks begin anew when it is done again"
    following = _next_on(due, LookFound(result), on, pace)
    if following is None:
        return "no further look by rule; this one was for once"
    sooner = ", at half the usual interval" if result in {Result.WATCH, Result.REDO} else ""
    opened = "a defect is opened; " if result == Result.REDO else ""
    return f"{opened}next on {_day(following)}{sooner}"


def typed_verdict(form: InspectionForm) -> Verdict:
    """What is typed so far would ask of the next look; of a form sent back to be put right."""
    form.is_valid()
    typed = form.cleaned_data
    reading = _typed_reading(typed)
    found = LookFound(
        result=typed.get("result", ""),
        edge=typed.get("edge", ""),
        condition=typed.get("condition", ""),
        urgency=typed.get("urgency", ""),
        coating=worst_of_coating({name: form.rating(name) for name in COATING_DEFECTS}),
        cross_cut=form.rating("cross_cut"),
        moisture_pct=reading.governs_at_pct if reading else None,
        over_range=reading.over_range if reading else False,
    )
    return judge_look(found)


def _typed_reading(typed: dict[str, Any]) -> CorrectedReading | None:
    if typed.get("moisture_pct") is None:
        return None
    return correct(
        typed["moisture_pct"],
        wood_c=typed.get("wood_c"),
        treated=typed.get("treated") or "unknown",
        meter=typed.get("meter") or MoistureReading.Meter.UNKNOWN,
    )


def _day(day: date) -> str:
    return f"{day:%-d %B %Y}"


def last_words(form: InspectionForm, last: Inspection | None) -> None:
    """Write how it stood last time beside each rating."""
    if last is None:
        return
    for name in NAMES:
        if words := rating_words(last, name):
            _before(form, name, words, last)
    others = (
        ("edge", last.get_edge_display() if last.edge else ""),
        ("condition", last.get_condition_display() if last.condition else ""),
        ("urgency", last.get_urgency_display() if last.urgency else ""),
    )
    for name, words in others:
        if words and name in form.fields:
            _before(form, name, words, last)


def _before(form: InspectionForm, name: str, words: str, last: Inspection) -> None:
    field = form.fields[name]
    said = f"{last.looked_on:%-d %b %Y}: {words}."
    field.help_text = f"{said} {field.help_text}" if field.help_text else said


def result_message(inspection: Inspection, on: date) -> str:
    """What was saved, what comes next, and what of it does not fit together."""
    saved = f"Saved: {inspection.member.mark}, {inspection.get_result_display().lower()}."
    if ended := no_longer_words(inspection.member, on):
        return f"{saved} {ended} So no next look is set."
    planned = DueDate.objects.outstanding().looks().filter(member=inspection.member)
    due = planned.filter(repair=inspection.repair).first()
    following = _following_words(inspection, due)
    opened = "A defect is opened." if inspection.opened_defect_id else ""
    return " ".join(filter(None, [saved, opened, following, judged(inspection).misfit]))


def _following_words(inspection: Inspection, due: DueDate | None) -> str:
    if due is not None:
        stays = inspection.result == Result.NOT_REACHED and due.pk == inspection.due_id
        return f"{'Its date stays' if stays else 'Next look on'} {_day(due.due_on)}."
    if inspection.result == Result.REDO and inspection.repair_id is not None:
        return "Its looks begin anew when it is done again."
    return "No next look is planned."

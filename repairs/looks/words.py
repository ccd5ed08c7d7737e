"""Words of the form of a look: how it stood last time, and what each result leads to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from repairs.due.pace import next_date
from repairs.forms.inspections import InspectionForm
from repairs.looks.page import rating_words
from repairs.looks.ratings import NAMES, NOT_APPLICABLE
from repairs.models import DueDate, Inspection

Result = Inspection.Result


@dataclass(frozen=True)
class NextLine:
    result: str
    words: str


def as_last_time(last: Inspection) -> dict[str, str]:
    """The ratings of the last look, as the form names them; what was measured is not repeated."""
    return {name: choice for name in NAMES if (choice := _choice(last, name))}


def _choice(last: Inspection, name: str) -> str:
    if name in last.not_applicable:
        return NOT_APPLICABLE[0]
    value = getattr(last, name)
    return "" if value is None else f"{value:f}".removesuffix(".0")


def next_lines(due: DueDate, on: date) -> list[NextLine]:
    """For each result, the date that would follow a look of today."""
    return [NextLine(Result(result).label, _next_words(due, result, on)) for result in Result]


def _next_words(due: DueDate, result: str, on: date) -> str:
    if result == Result.NOT_REACHED:
        return f"the date stays {due.due_on:%-d %B %Y}"
    if result == Result.REDO and due.repair_id is not None:
        return "a defect is opened; the looks begin anew when it is done again"
    found = next_date(due, result, on)
    if found is None:
        return "no further look by rule; this one was for once"
    sooner = ", at half the usual interval" if result in {Result.WATCH, Result.REDO} else ""
    opened = "a defect is opened; " if result == Result.REDO else ""
    return f"{opened}next on {found.due_on:%-d %B %Y}{sooner}"


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


def result_message(inspection: Inspection) -> str:
    saved = f"Saved: {inspection.member.mark}, {inspection.get_result_display().lower()}."
    planned = DueDate.objects.outstanding().looks().filter(member=inspection.member)
    due = planned.filter(repair=inspection.repair).first()
    if due is None:
        return saved
    return f"{saved} Next look on {due.due_on:%-d %B %Y}."

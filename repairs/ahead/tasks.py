"""Repairs that have a day: those planned, and open defects by how urgent they are."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from properties.classes import URGENCY_WORDS
from properties.models import Defect
from repairs.ahead.rows import DefectRow, Place, PlanRow
from repairs.due.intervals import add_months
from repairs.models import Repair

# Priority 1 is urgent, 2 within two years, 3 within three to five years, 4 beyond five: classes
# of condition surveys in wide public use. Which class of EN 16096 answers to which priority, and
# the middle of three to five years, are choices.
MONTHS_BY_URGENCY = {"UC3": 0, "UC2": 24, "UC1": 48}
URGENCY_YEARS = (
    "Open defects are put right once, by their urgency: UC3 now, UC2 within two years of being "
    "found, UC1 four years after (three to five); what is past counts now. The years are those of "
    "priority classes in common use for condition surveys; matching them to EN 16096 is a choice."
)
URGENCY_RISK = {
    "UC3": "it is urgent and immediate",
    "UC2": "it was to be put right within two years of being found",
    "UC1": "it was to be put right within five years of being found",
}


@dataclass(frozen=True)
class Task:
    """`kind` is the kind of repair, '' where it is not known yet. One of the two numbers says
    what it comes from."""

    kind: str
    on: date
    place: Place
    why: str
    urgency: str
    defect: int
    plan: int | None = None

    @property
    def is_repaint(self) -> bool:
        return self.kind == Repair.Kind.REPAINT


@dataclass(frozen=True)
class Left:
    """Defects that are told and not counted: of the lowest urgency, without one, or watched."""

    long_term: int = 0
    not_classed: int = 0
    watched: int = 0


def tasks_of(
    defects: Collection[DefectRow], plans: Collection[PlanRow], first: date
) -> tuple[list[Task], Left]:
    """Each defect once; a plan goes before the urgency of its defect. Nothing falls before the
    first day."""
    urgency = {defect.pk: defect.urgency for defect in defects}
    tasks = [_planned(plan, urgency.get(plan.defect, ""), first) for plan in plans]
    known = {plan.defect for plan in plans}
    rest = [defect for defect in defects if defect.pk not in known]
    awaited = [defect for defect in rest if defect.state != Defect.State.WATCHED]
    tasks += [_urgent(each, first) for each in awaited if each.urgency in MONTHS_BY_URGENCY]
    left = Left(
        long_term=sum(each.urgency == "UC0" for each in awaited),
        not_classed=sum(not each.urgency for each in awaited),
        watched=len(rest) - len(awaited),
    )
    return tasks, left


def _planned(plan: PlanRow, urgency: str, first: date) -> Task:
    why = f"Planned repair, to start on {plan.on:%-d %B %Y}"
    return Task(plan.kind, max(plan.on, first), plan.place, why, urgency, plan.defect, plan.pk)


def _urgent(defect: DefectRow, first: date) -> Task:
    due = add_months(defect.found_on, MONTHS_BY_URGENCY[defect.urgency])
    name = Defect.Kind(defect.kind).label
    words = URGENCY_WORDS[defect.urgency]
    why = f"{name} found on {defect.found_on:%-d %B %Y}, {defect.urgency} ({words})"
    return Task("", max(due, first), defect.place, why, defect.urgency, defect.pk)

"""The page of a plan as one thing: its blocks in the order of the work, and the rows they make."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

from django.http import QueryDict

from properties.models import Defect
from properties.units import units_for
from repairs.logbook.drafts import read_key
from repairs.models import Plan, PlanOption
from repairs.plans.rows import PlanRows

from .log_base import BlockForm
from .plan_money import LabourForm, OptionForm, StudyForm
from .plan_stage import Offers, PlanStageForm
from .plan_typed import MOST_ROWS, rows_typed
from .plan_weather import MixingForm, WeatherForm
from .plan_work import CavityForm, NotesForm, RowForm, ShapeForm, StationForm, WorkForm

if TYPE_CHECKING:
    from properties.access import Visitor

MANY = {"shape": "shapes", "station": "places", "stage": "stages"}


@dataclass(frozen=True)
class Wrong:
    """One line of what is to be put right: where it is, and what is the matter."""

    id: str
    place: str
    sentence: str


class PlanPage:
    """`plan` is the saved one that is being changed, or None for a new plan of the defect."""

    def __init__(
        self,
        typed: QueryDict,
        defect: Defect,
        user: Visitor,
        at: datetime,
        plan: Plan | None = None,
    ) -> None:
        self.typed, self.defect, self.at, self.plan = typed, defect, at, plan
        self.member = defect.member
        self.place = self.member.building.property
        self.system = units_for(user, self.place)
        self.key: UUID = read_key(typed.get("key", "")) or uuid4()
        self.messages: list[str] = []
        self._set_out()

    def _set_out(self) -> None:
        typed, how, today = self.typed, self._with(), self.place.day_of(self.at)
        self.work = WorkForm(typed, today=today, zone=self.place.zone, **how)
        self.cavity = CavityForm(typed, **how)
        self.shapes: list[ShapeForm] = self._rows(ShapeForm, "shape")
        self.stations: list[StationForm] = self._rows(StationForm, "station")
        self.offers = Offers(self.member, self.first_day or today, self.system)
        self.stages: list[PlanStageForm] = self._rows(PlanStageForm, "stage", offers=self.offers)
        self.weather = WeatherForm(typed, zone=self.place.zone, first_day=self.first_day, **how)
        self.mixing = MixingForm(typed, **how)
        self.labour = LabourForm(typed, **how)
        self.study = StudyForm(typed, **how)
        self.options = [
            OptionForm(typed, prefix=str(kind), kind=str(kind), **how) for kind in PlanOption.Kind
        ]
        self.notes = NotesForm(typed, **how)

    def _with(self) -> dict[str, Any]:
        return {"system": self.system, "currency": self.place.currency}

    def _rows(self, form: type[RowForm], block: str, **more: Any) -> list[Any]:
        numbers = rows_typed(self.typed, block)
        if len(numbers) > MOST_ROWS:
            self.messages.append(
                f"A plan holds up to {MOST_ROWS} {MANY[block]}. Leave some out, or join them."
            )
        return [
            form(self.typed, prefix=f"{block}-{number}", number=place, **more, **self._with())
            for place, number in enumerate(numbers[:MOST_ROWS], start=1)
        ]

    @cached_property
    def first_day(self) -> date | None:
        self.work.is_valid()
        day: date | None = self.work.cleaned_data.get("on")
        return day

    def hold_to(self, version: str) -> None:
        """Refuse once to save over what somebody else has saved since this form was opened."""
        if (seen := self.typed.get("seen")) and seen != version:
            self.messages.append(
                "Somebody has changed this plan since you opened it. Look at it in another window; "
                "save again to put yours in its place."
            )
            self.typed["seen"] = version

    # What counts

    def blocks(self) -> Iterable[BlockForm]:
        yield self.work
        yield self.cavity
        yield from self.shapes
        yield from self.stations
        yield from self.stages
        yield self.weather
        yield self.mixing
        yield self.labour
        yield self.study
        yield from self.options
        yield self.notes

    @cached_property
    def rows(self) -> PlanRows | None:
        """None while something has to be put right."""
        self._hush_what_does_not_count()
        valid = [block.is_valid() for block in self.blocks() if not block.quiet]
        if self.messages or not all(valid):
            return None
        plan = self.plan or Plan(defect=self.defect, submission=self.key)
        for name, value in self._figures().items():
            setattr(plan, name, value)
        return PlanRows(
            plan,
            tuple(form.row(plan) for form in self.shapes if not form.quiet),
            tuple(form.row(plan) for form in self.stages if not form.quiet),
            tuple(form.row(plan) for form in self.options if not form.quiet),
        )

    def _figures(self) -> dict[str, Any]:
        work = self.work.cleaned_data
        return {
            "kind": work["kind"],
            "zone": work["zone"],
            "starts_at": self.work.starts_at(),
            "profile": [form.station() for form in self.stations if not form.quiet],
            "notes": self.notes.cleaned_data["notes"],
            **self.cavity.figures(),
            **self.weather.figures(),
            **self.mixing.figures(),
            **self.labour.figures(),
            **self.study.figures(),
        }

    def _hush_what_does_not_count(self) -> None:
        measured = self.typed.get("measured")
        for form in self.shapes:
            if measured != Plan.Measured.SHAPES or not form.says_something():
                form.hush()
        for station in self.stations:
            if measured != Plan.Measured.PROFILE or not station.says_something():
                station.hush()
        for row in (*self.stages, *self.options):
            if not row.says_something() or (isinstance(row, OptionForm) and not row.counts()):
                row.hush()

    def wrong(self) -> list[Wrong]:
        """All that is to be put right, each with the field that it is about."""
        lines = [Wrong("plan", "This plan", sentence) for sentence in self.messages]
        for block in self.blocks():
            for bound in block:
                place = f"{block.place_in_words()}{bound.label}"
                where = str(bound.id_for_label or bound.auto_id)
                lines += [Wrong(where, place, str(error)) for error in bound.errors]
        return lines

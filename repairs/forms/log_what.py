"""What was repaired and why: the repair itself and a defect that was not in the records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, tzinfo
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from properties.classes import CONDITION_CHOICES, URGENCY_CHOICES
from properties.models import Defect, Elevation
from properties.models.members import YesNoUnknown, Zone
from repairs.logbook.entry import NewDefectEntry
from repairs.models import CostLine, Repair
from repairs.remarks import cautions_for, paint_presumed_leaded

from .log_base import BlockForm, day, note
from .log_known import Known

MOST_YEARS_AHEAD = 50


def optional(choices: Any, empty: str) -> list[tuple[str, str]]:
    return [("", empty), *((value, label) for value, label in choices if value)]


@dataclass(frozen=True)
class Relation:
    kind: str
    follows: Repair | None


class RepairForm(BlockForm):
    kind = forms.ChoiceField(
        label="What was done", choices=Repair.Kind.choices, widget=forms.RadioSelect
    )
    zone = forms.ChoiceField(
        label="Where on it", choices=Zone.choices, widget=forms.RadioSelect,
        help_text="Left and right as seen from outside, facing the wall.",
        error_messages={"required": "Say where on the member it was done."},
    )  # fmt: skip
    defects = forms.MultipleChoiceField(
        label="Which damage was made good", required=False, widget=forms.CheckboxSelectMultiple
    )
    relation = forms.ChoiceField(
        label="First here, or again", required=False,
        help_text="By the records, it is a repeat if this spot was repaired before.",
    )  # fmt: skip
    temporary = forms.BooleanField(
        label="Temporary: holds until the lasting repair", required=False,
        help_text="It is then looked at every three months.",
    )  # fmt: skip
    finished = forms.BooleanField(
        label="The repair is finished", required=False,
        help_text="Clear it if more stages follow on another day: go on with it then.",
    )  # fmt: skip
    done_by = forms.CharField(label="Done by", required=False, max_length=200)
    borne_by = forms.ChoiceField(
        label="Who bears the cost", choices=CostLine.Bearer.choices, required=False
    )
    next_look_on = day("Look at it again on")
    engineer_note = note(
        "What the licensed engineer decided",
        help_text="Who, when, and what was decided; needed where timber carries load.",
    )
    lead_note = note(
        "How lead in the old paint was dealt with",
        help_text="How it was tested for, and how dust and flakes were kept in.",
    )
    notes = note("Notes", rows=3)

    def __init__(self, *args: Any, known: Known, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.member, self.earlier, self.today = known.member, known.earlier, known.today
        self.open_defects = {str(defect.pk): defect for defect in known.defects}
        self.continues = known.continues
        if self.continues is not None:
            # What the repair is, stays as it was recorded on the first day.
            for name in ("kind", "zone", "defects", "relation", "temporary"):
                del self.fields[name]
            return
        relation: Any = self.fields["relation"]
        relation.choices = list(self._relations(known.zone))
        defects: Any = self.fields["defects"]
        defects.choices = [(pk, defect_words(one)) for pk, one in self.open_defects.items()]

    def _relations(self, zone: tzinfo) -> Any:
        yield ("auto", "As the records say")
        yield ("first", str(Repair.Relation.FIRST.label))
        for repair in self.earlier:
            words = earlier_words(repair, zone)
            yield (f"repeat:{repair.pk}", f"Repeat, damaged again: {words}")
            yield (f"redo:{repair.pk}", f"Redo, that one failed: {words}")

    def carries_load(self) -> bool:
        return self.member is not None and self.member.load_bearing != YesNoUnknown.NO

    def may_hold_lead(self) -> bool:
        """Paint from before the local ban, or of a year that nobody knows."""
        if self.member is None:
            return False
        home = self.member.building.property
        year = self.member.presumed_paint_year()
        return paint_presumed_leaded(year, home.lead_paint_ban_year, home.country)

    def cautions_first(self) -> tuple[str, ...]:
        """What decides whether this may be done at all."""
        return self._cautions(old_paint=self.may_hold_lead(), load=self.carries_load())

    def cautions(self) -> tuple[str, ...]:
        """What to mind while it is done."""
        elevation = self.member.elevation if self.member else None
        unknown, ground = Elevation.Access.UNKNOWN, Elevation.Access.GROUND
        high = elevation is not None and elevation.access not in (unknown, ground)
        return self._cautions(resin=True, dust=True, at_height=high)

    def _cautions(self, *, load: bool = False, **about: bool) -> tuple[str, ...]:
        known = self.member.load_bearing if self.member and load else YesNoUnknown.NO
        asked = {"resin": False, "old_paint": False, "at_height": False, "dust": False, **about}
        return cautions_for(load_bearing=known, **asked)

    def asks_engineer(self) -> bool:
        if self.continues is not None and self.continues.engineer_note:
            return self.needs_attention("engineer_note")
        return self.carries_load() or self.needs_attention("engineer_note")

    def asks_lead(self) -> bool:
        if self.continues is not None and self.continues.lead_note:
            return self.needs_attention("lead_note")
        return self.may_hold_lead() or self.needs_attention("lead_note")

    def more_open(self) -> bool:
        return self.typed("borne_by") not in ("", CostLine.Bearer.OWNER)

    def clean_defects(self) -> list[Defect]:
        return [self.open_defects[number] for number in self.cleaned_data["defects"]]

    def clean_next_look_on(self) -> date | None:
        on: date | None = self.cleaned_data["next_look_on"]
        if on is not None and on <= self.today:
            raise ValidationError(
                "The next look is still to come. Type a day after today.", code="past"
            )
        if on is not None and on.year > self.today.year + MOST_YEARS_AHEAD:
            raise ValidationError(f"{on.year} is too far ahead. Check the year.", code="far")
        return on

    def clean_relation(self) -> Relation:
        value: str = self.cleaned_data["relation"] or "auto"
        if value == "first":
            return Relation(Repair.Relation.FIRST, None)
        if value == "auto":
            before = next(iter(self.earlier_here()), None)
            kind = Repair.Relation.REPEAT if before else Repair.Relation.FIRST
            return Relation(kind, before)
        again, _, number = value.partition(":")
        return Relation(again, next(one for one in self.earlier if str(one.pk) == number))

    def earlier_here(self) -> list[Repair]:
        """Earlier repairs on the same spot, the latest first."""
        zone = self.typed("zone")
        return [
            repair
            for repair in self.earlier
            if (zone and Zone.WHOLE in (zone, repair.zone)) or repair.zone == zone
        ]


class NewDefectForm(BlockForm):
    silent = ("cause", "cause_state")

    kind = forms.ChoiceField(
        label="Damage", choices=optional(Defect.Kind.choices, "None to add"), required=False
    )
    cause = forms.ChoiceField(
        label="Its cause",
        required=False,
        choices=optional(Defect.Cause.choices, "Choose the cause"),
    )
    cause_state = forms.ChoiceField(
        label="Is the cause put right?", required=False,
        choices=Defect.CauseState.choices, widget=forms.RadioSelect,
    )  # fmt: skip
    condition = forms.ChoiceField(
        label="Condition class before the repair", required=False,
        choices=optional(CONDITION_CHOICES, "Not recorded"),
    )  # fmt: skip
    urgency = forms.ChoiceField(
        label="Urgency class", required=False, choices=optional(URGENCY_CHOICES, "Not recorded")
    )
    notes = note("What was seen")

    def is_open(self) -> bool:
        return self.needs_attention("kind", "notes", "condition", "urgency")

    def counts(self) -> bool:
        return self.says_something()

    def clean_kind(self) -> str:
        kind: str = self.cleaned_data["kind"]
        if not kind:
            raise ValidationError("Choose what kind of damage it was, or clear the rest.")
        return kind

    def entry(self, found_on: date) -> NewDefectEntry:
        cleaned = self.cleaned_data
        return NewDefectEntry(
            kind=cleaned["kind"],
            cause=cleaned["cause"] or Defect.Cause.UNKNOWN,
            cause_state=cleaned["cause_state"] or Defect.CauseState.UNKNOWN,
            found_on=found_on,
            condition=cleaned["condition"],
            urgency=cleaned["urgency"],
            notes=cleaned["notes"],
        )


def defect_words(defect: Defect) -> str:
    words = f"{defect.get_kind_display()}, {defect.get_zone_display().lower()}"
    return f"{words}, found {defect.found_on:%-d %b %Y}, cause {cause_words(defect)}"


def cause_words(defect: Defect) -> str:
    state = defect.get_cause_state_display().lower()
    return f"{defect.get_cause_display().lower()} ({state})"


def earlier_words(repair: Repair, zone: tzinfo) -> str:
    began = repair.began_at.astimezone(zone)
    return (
        f"{repair.get_kind_display().lower()}, {repair.get_zone_display().lower()}, "
        f"{began:%-d %b %Y}"
    )

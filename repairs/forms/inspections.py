"""The form of one look, made for standing in front of the member with a telephone."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError

from config.day_field import DayField
from config.quantities import Quantity, UnitSystem, usual_unit
from config.quantity_fields import QuantityField, apply_units
from properties.classes import CONDITION_CHOICES, URGENCY_CHOICES
from properties.models import Defect, MoistureReading
from properties.models.members import YesNoUnknown, Zone
from repairs.due.worked_on import worked_on
from repairs.forms.days import in_words, refuse_absurd, refuse_future
from repairs.looks.ratings import (
    NAMES,
    NOT_APPLICABLE,
    NOT_RECORDED,
    STANDARDS,
    rating_choices,
    size_choices,
)
from repairs.looks.subject import LookSubject
from repairs.models import DueDate, Inspection

if TYPE_CHECKING:
    from django.forms import BoundField

Result = Inspection.Result


def _select(label: str, choices: list[tuple[Any, Any]], **kwargs: Any) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=choices, required=False, **kwargs)


def _rating(name: str) -> forms.ChoiceField:
    return _select(NAMES[name], rating_choices(name), help_text=f"{STANDARDS[name]}.")


def _size(name: str, label: str) -> forms.ChoiceField:
    return _select(label, size_choices(name))


def _en_16096(label: str, classes: list[tuple[str, str]]) -> forms.ChoiceField:
    return _select(label, [NOT_RECORDED, *classes], help_text="EN 16096.")


class PersonChoice(forms.ModelChoiceField):
    def label_from_instance(self, person: User) -> str:
        return person.get_full_name() or person.get_username()


def people() -> Any:
    """Those who can go and look. Viewers are none of them, and need not know of each other."""
    lookers = User.objects.with_perm("repairs.add_inspection")
    return lookers.order_by("last_name", "first_name", "username")


class DueChoice(forms.ModelChoiceField):
    def label_from_instance(self, due: DueDate) -> str:
        return f"{due.get_kind_display()}, due {in_words(due.due_on)}"


class ManyFiles(forms.FileInput):
    allow_multiple_selected = True


class PhotographsField(forms.FileField):
    """Several photographs at once; each is checked by its own rule, not here."""

    widget = ManyFiles(attrs={"accept": "image/*"})

    def clean(self, data: Any, initial: Any = None) -> Any:
        return data or []


class InspectionForm(forms.Form):
    key = forms.UUIDField(widget=forms.HiddenInput)
    looked_on = DayField(label="Day of the look")
    looked_by = PersonChoice(
        label="Who looked",
        queryset=User.objects.none(),
        required=False,
        empty_label="Somebody without a log-in",
    )
    looked_by_name = forms.CharField(
        label="Their name",
        max_length=200,
        required=False,
        help_text="Only for somebody without a log-in.",
    )
    occasion = forms.ChoiceField(label="Occasion", choices=Inspection.Occasion.choices)
    due = DueChoice(
        label="Which date this look answers",
        queryset=DueDate.objects.none(),
        required=False,
        empty_label="None: an extra look",
        error_messages={"invalid_choice": "That date is no longer planned; choose again."},
    )
    zone = forms.ChoiceField(
        label="Where", choices=Zone.choices, help_text="As seen from outside, facing the wall."
    )

    edge = _select("Edge of the repair", Inspection.Edge.choices)
    flaking = _rating("flaking")
    cracking = _rating("cracking")
    blistering = _rating("blistering")
    chalking = _rating("chalking")
    cross_cut = _rating("cross_cut")
    flaking_size = _size("flaking", "Size of the flakes")
    flaking_depth = _select("They come off", [NOT_RECORDED, *Inspection.FlakingDepth.choices])
    cracking_size = _size("cracking", "Size of the cracks")
    blistering_size = _size("blistering", "Size of the blisters")
    condition = _en_16096("Condition class", CONDITION_CHOICES)
    urgency = _en_16096("Urgency class", URGENCY_CHOICES)

    moisture_pct = forms.DecimalField(
        label="Meter shows",
        required=False,
        min_value=0,
        max_value=200,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value", "max_digits", "max_decimal_places"),
            "Type what the meter shows: a figure from 0 to 200, such as 18.5.",
        ),
        decimal_places=1,
        max_digits=4,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        help_text="Moisture as read, % of oven-dry mass. The worst point.",
    )
    wood_c = QuantityField(
        Quantity.TEMPERATURE,
        label="Temperature of the wood",
        required=False,
        hint=False,
        min_value=Decimal(-40),
        max_value=Decimal(60),
    )
    meter = _select("Meter", MoistureReading.Meter.choices, initial=MoistureReading.Meter.UNKNOWN)
    treated = _select(
        "Treated with salts or preservative", YesNoUnknown.choices, initial=YesNoUnknown.UNKNOWN
    )

    result = forms.ChoiceField(
        label="How it stands",
        choices=Result.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Say how it stands: sound, watch, redo, or not reached."},
    )
    defect_kind = _select("Redo: what is wrong", [("", "Choose"), *Defect.Kind.choices])
    defect_cause = _select("Cause", Defect.Cause.choices, initial=Defect.Cause.UNKNOWN)
    defect_cause_state = _select(
        "Is the cause put right", Defect.CauseState.choices, initial=Defect.CauseState.UNKNOWN
    )
    next_on = DayField(label="Another day for the next look", required=False)
    next_reason = forms.CharField(label="Why that day", max_length=250, required=False)
    notes = forms.CharField(
        label="Notes", required=False, max_length=5000, widget=forms.Textarea(attrs={"rows": 3})
    )
    photographs = PhotographsField(
        label="Photographs", required=False, help_text="JPEG, PNG or WebP, up to 25 MB each."
    )
    caption = forms.CharField(
        label="What they show",
        max_length=300,
        required=False,
        help_text="For all of those just chosen.",
    )

    def __init__(
        self, *args: Any, subject: LookSubject, today: date, system: UnitSystem, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.subject, self.repair, self.today = subject, subject.repair, today
        self._choice("looked_by").queryset = people()
        self._choice("due").queryset = subject.answerable()
        repair = subject.repair
        if repair is None:
            del self.fields["edge"]
        apply_units(self, system)
        self._unit("moisture_pct", "%")
        self._unit("wood_c", usual_unit(Quantity.TEMPERATURE, system))

    def _choice(self, name: str) -> forms.ModelChoiceField:
        field = self.fields[name]
        assert isinstance(field, forms.ModelChoiceField)
        return field

    def _unit(self, name: str, unit: str) -> None:
        bound: BoundField = self[name]
        bound.unit = unit  # type: ignore[attr-defined]

    def clean_looked_on(self) -> date:
        day: date = self.cleaned_data["looked_on"]
        refuse_absurd(day, self.today)
        refuse_future(day, self.today)
        if self.repair is not None and day < worked_on(self.repair):
            raise ValidationError(
                f"The repair was made on {in_words(worked_on(self.repair))}; "
                "a look at it cannot be earlier.",
                code="before-the-repair",
            )
        return day

    def clean_next_on(self) -> date | None:
        day: date | None = self.cleaned_data["next_on"]
        if day is not None:
            refuse_absurd(day, self.today)
        return day

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        self._clean_who(typed)
        self._clean_next(typed)
        self._clean_sizes(typed)
        if typed.get("result") == Result.REDO and not typed.get("defect_kind"):
            self.add_error("defect_kind", "'Redo' opens a defect: say what is wrong.")
        told = typed.get("wood_c") is not None or typed.get("meter") not in ("", "unknown", None)
        if told and typed.get("moisture_pct") is None and "moisture_pct" not in self.errors:
            self.add_error("moisture_pct", "Type what the meter shows, or clear the rest of it.")
        return typed

    def _clean_who(self, typed: dict[str, Any]) -> None:
        if typed.get("looked_by") is None and not typed.get("looked_by_name"):
            self.add_error("looked_by_name", "Say who looked.")

    def _clean_next(self, typed: dict[str, Any]) -> None:
        next_on, looked_on = typed.get("next_on"), typed.get("looked_on")
        if next_on is None:
            return
        if typed.get("result") == Result.NOT_REACHED:
            message = "The date stands until the member is reached; move it on its own page."
            self.add_error("next_on", message)
        elif looked_on is not None and next_on <= looked_on:
            self.add_error("next_on", f"Choose a day after the look of {in_words(looked_on)}.")
        if not typed.get("next_reason"):
            self.add_error("next_reason", "Say why it is another day than the rule's.")

    def _clean_sizes(self, typed: dict[str, Any]) -> None:
        for name in Inspection.SIZED:
            told = [f"{name}_size"] if name != "flaking" else ["flaking_size", "flaking_depth"]
            rating = self.rating(name)
            for field in told:
                if typed.get(field) and not rating and name not in self.errors:
                    message = f"Rate the {NAMES[name].lower()} above 0 first, or clear this."
                    self.add_error(field, message)

    def rating(self, name: str) -> Decimal | None:
        value = self.cleaned_data.get(name)
        return Decimal(value) if value and value != NOT_APPLICABLE[0] else None

    def not_applicable(self) -> list[str]:
        names = Inspection.RATINGS
        return [name for name in names if self.cleaned_data.get(name) == NOT_APPLICABLE[0]]

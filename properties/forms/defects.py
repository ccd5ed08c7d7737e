"""Forms for defects and moisture readings."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from config.day_field import DayField
from config.quantities import Quantity
from config.quantity_fields import QuantityField
from properties.models import Defect, MoistureReading
from properties.wood_resistance import CURVES

from .records import RecordForm, not_after

LARGEST = Decimal(100_000)


def extent(label: str, hint: bool = False) -> QuantityField:
    return QuantityField(
        Quantity.LENGTH,
        label=label,
        required=False,
        min_value=Decimal("0.01"),
        max_value=LARGEST,
        hint=hint,
    )


class DefectForm(RecordForm):
    """A defect as it is found."""

    given = ("member", "closed_on", "state")

    found_on = DayField(label="Found on")
    cause_put_right_on = DayField(label="Put right on", required=False)
    length_mm = extent("Length of the damage", hint=True)
    width_mm = extent("Width")
    depth_mm = extent("Depth")
    probe_mm = extent("A probe goes in")

    class Meta:
        model = Defect
        fields = [
            "zone",
            "kind",
            "found_on",
            "found_by",
            "cause",
            "cause_state",
            "cause_put_right_on",
            "cause_note",
            "length_mm",
            "width_mm",
            "depth_mm",
            "probe_mm",
            "section_loss",
            "condition",
            "urgency",
            "structural_concern",
            "notes",
        ]
        labels = {
            "zone": "Where on the member",
            "kind": "What is wrong",
            "cause_note": "About the cause",
            "section_loss": "How much of the section is lost",
            "structural_concern": "Is the strength in doubt?",
        }
        widgets = {
            "structural_concern": forms.RadioSelect,
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    def clean_found_on(self) -> date | None:
        return not_after(self.cleaned_data["found_on"], self.on, "That day")

    def clean_cause_put_right_on(self) -> date | None:
        return not_after(self.cleaned_data["cause_put_right_on"], self.on, "That day")


class DefectChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: Defect) -> str:
        return f"{obj}, found {obj.found_on:%-d %B} {obj.found_on.year}"


class DefectEditForm(DefectForm):
    """A defect later on: also its state, and the day it was closed."""

    closed_on = DayField(label="Closed on", required=False)

    class Meta(DefectForm.Meta):
        fields = ["state", "closed_on", "superseded_by", *DefectForm.Meta.fields]
        labels = DefectForm.Meta.labels

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        others = Defect.objects.filter(member=self.instance.member).exclude(pk=self.instance.pk)
        self.fields["superseded_by"] = DefectChoice(
            others.select_related("member"),
            required=False,
            label="Superseded by",
            empty_label="None",
        )

    def clean_closed_on(self) -> date | None:
        return not_after(self.cleaned_data["closed_on"], self.on, "That day")

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        state, closed_on = cleaned.get("state"), cleaned.get("closed_on")
        closed = state in {Defect.State.MADE_GOOD, Defect.State.SUPERSEDED}
        if state and closed and not closed_on and "closed_on" not in self.errors:
            self.add_error(
                "closed_on", ValidationError("Say on which day it was closed.", code="no-day")
            )
        if state and not closed and closed_on:
            self.add_error(
                "closed_on",
                ValidationError(
                    "It is not closed in that state. Empty the day, or choose 'Made good'.",
                    code="not-closed",
                ),
            )
        return cleaned


class MoistureForm(RecordForm):
    """One reading. Its moment is typed in the property's own time."""

    given = ("member", "defect")

    taken_on = DayField(label="Taken on")
    taken_time = forms.TimeField(
        label="At",
        widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}),
        error_messages={"invalid": "Type the time like 09:30."},
    )
    depth_mm = QuantityField(
        Quantity.LENGTH,
        label="Depth of the pins",
        required=False,
        places=1,
        max_value=Decimal(1_000),
    )
    wood_c = QuantityField(
        Quantity.TEMPERATURE,
        label="Temperature of the wood",
        required=False,
        min_value=Decimal(-40),
        max_value=Decimal(90),
    )
    set_for = forms.ChoiceField(
        label="The meter is set for",
        required=False,
        choices=[
            ("", "Not known"),
            *((curve.species, curve.species[:1].upper() + curve.species[1:]) for curve in CURVES),
        ],
        help_text="Corrected to the species of the member, where curves of both are known.",
    )

    class Meta:
        model = MoistureReading
        fields = [
            "zone",
            "raw_pct",
            "taken_by",
            "meter",
            "meter_name",
            "depth_mm",
            "wood_c",
            "treated",
            "note",
        ]
        labels = {
            "zone": "Where on the member",
            "raw_pct": "Reading, %",
            "meter_name": "Which meter",
            "treated": "Is the wood treated with salts or preservative?",
        }
        widgets = {"treated": forms.RadioSelect}

    def __init__(self, *args: Any, zone: ZoneInfo, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone

    def clean_taken_on(self) -> date | None:
        return not_after(self.cleaned_data["taken_on"], self.on, "That day")

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        day, at = cleaned.get("taken_on"), cleaned.get("taken_time")
        if day and at:
            self.instance.taken_at = self._moment(day, at)
        return cleaned

    def _moment(self, day: date, at: time) -> datetime:
        """The instant; of an hour that comes twice in autumn, the first."""
        moment = datetime.combine(day, at, tzinfo=self.zone).astimezone(UTC)
        if moment.astimezone(self.zone).time() != at:
            self.add_error(
                "taken_time",
                ValidationError(
                    "The clocks skipped that time in this night; check it.", code="skipped"
                ),
            )
        return moment

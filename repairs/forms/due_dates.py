"""Forms by which a person moves, gives out, calls off or sets a due date."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.contrib.auth.models import User

from config.day_field import DayField
from properties.models import Member
from repairs.forms.days import in_words, refuse_absurd, refuse_past
from repairs.forms.inspections import PersonChoice, people
from repairs.models import DueDate, MemberInterval, Repair
from repairs.models.due_dates import DueKind

MONTHS = {"min_value": 1, "max_value": 600}


def _person() -> PersonChoice:
    return PersonChoice(
        label="Who is to look", queryset=User.objects.none(), required=False,
        empty_label="Nobody yet",
    )  # fmt: skip


class MoveForm(forms.Form):
    due_on = DayField(label="Due")
    reason = forms.CharField(
        label="Why it is moved",
        max_length=250,
        required=False,
        help_text="Only if the day changes; such as 'scaffold stands then'.",
    )
    person = _person()

    def __init__(self, *args: Any, due: DueDate, today: date, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {"due_on": due.due_on, "person": due.person})
        super().__init__(*args, **kwargs)
        self.due, self.today = due, today
        self.fields["person"].queryset = people()  # type: ignore[attr-defined]

    def clean_due_on(self) -> date:
        day: date = self.cleaned_data["due_on"]
        if day != self.due.due_on:
            refuse_absurd(day, self.today)
            refuse_past(day, self.today)
        return day

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        moved = typed.get("due_on") not in (None, self.due.due_on)
        if moved and not typed.get("reason"):
            words = f"Say why it moves from {in_words(self.due.due_on)}."
            self.add_error("reason", words)
        return typed


class CallOffForm(forms.Form):
    off_reason = forms.CharField(
        label="Why it is called off",
        max_length=300,
        error_messages={"required": "Say why it is called off; the reason stays in the record."},
    )


class RepairChoice(forms.ModelChoiceField):
    def label_from_instance(self, repair: Repair) -> str:
        zone = repair.get_zone_display().lower()
        on = repair.member.building.property.day_of(repair.began_at)
        return f"{repair.get_kind_display()}, {zone}, {in_words(on)}"


class NewDateForm(forms.Form):
    kind = forms.ChoiceField(label="What", choices=DueKind.choices, initial=DueKind.MEMBER_LOOK)
    repair = RepairChoice(
        label="Which repair", queryset=Repair.objects.none(), required=False,
        empty_label="None: the member as a whole",
    )  # fmt: skip
    due_on = DayField(label="Due")
    reason = forms.CharField(label="Why", max_length=250)
    person = _person()
    comes_back = forms.BooleanField(
        label="It comes back at the pace of the rule set",
        required=False,
        initial=True,
        help_text="Else it is for once only.",
    )

    def __init__(self, *args: Any, member: Member, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["person"].queryset = people()  # type: ignore[attr-defined]
        standing = Repair.objects.standing().filter(member=member).with_place()
        self.fields["repair"].queryset = standing  # type: ignore[attr-defined]

    def clean_due_on(self) -> date:
        day: date = self.cleaned_data["due_on"]
        refuse_absurd(day, self.today)
        refuse_past(day, self.today)
        return day

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        if typed.get("kind") == DueKind.REPAIR_LOOK and typed.get("repair") is None:
            self.add_error("repair", "Choose the repair to look at, or 'Look at the member'.")
        if typed.get("kind") != DueKind.REPAIR_LOOK:
            typed["repair"] = None
        return typed


class IntervalForm(forms.ModelForm):
    class Meta:
        model = MemberInterval
        fields = ["kind", "months", "reason"]
        labels = {"kind": "What", "months": "Every so many months", "reason": "Why"}
        error_messages = {
            "months": dict.fromkeys(
                ("invalid", "min_value", "max_value"), "Type whole months from 1 to 600."
            )
        }
        help_texts = {
            "months": "Comes round in every season; where the rule keeps out of frost, so does it.",
            "reason": "Such as 'driving rain' or 'gutter above leaks'.",
        }

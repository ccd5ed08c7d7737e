"""What a person says about a repair after it was logged."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils import timezone

from config.day_field import DayField
from repairs.models import Repair, SignOff


def day_input() -> forms.DateInput:
    """The browser's own date field, which wants its day as 2026-05-03."""
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


class SignOffForm(forms.ModelForm):
    class Meta:
        model = SignOff
        fields = ["stage", "verdict", "signed_on", "name", "role", "note"]
        widgets = {
            "verdict": forms.RadioSelect,
            "signed_on": day_input(),
            "note": forms.Textarea(attrs={"rows": 3}),
        }
        labels = {"stage": "What is signed", "signed_on": "Day of signing"}

    def __init__(self, *args: Any, repair: Repair, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.repair, self.on = repair, on
        self.instance.repair = repair
        self.fields["stage"].queryset = repair.stages.all()  # type: ignore[attr-defined]
        self.fields["stage"].empty_label = "The whole repair"  # type: ignore[attr-defined]
        self.fields["verdict"].choices = SignOff.Verdict.choices  # type: ignore[attr-defined]

    def clean_signed_on(self) -> date:
        signed_on: date = self.cleaned_data["signed_on"]
        if signed_on > self.on:
            raise forms.ValidationError(
                "That day is still to come. Type the day of signing.", code="in-the-future"
            )
        began = self.repair.began_at.astimezone(self.repair.member.building.property.zone).date()
        if signed_on < began:
            raise forms.ValidationError(
                f"The repair began on {began:%-d %B %Y}; it was signed on that day or later.",
                code="before-it-began",
            )
        return signed_on


class ReleaseForm(forms.Form):
    word = forms.CharField(
        label="Your word",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What you checked and why the work may go on. It stays in the record "
        "under your name.",
    )


class FinishForm(forms.Form):
    """`ended_at` is typed and shown in the property's time zone."""

    ended_on = DayField(label="Day it was finished")
    ended_time = forms.TimeField(
        label="Time", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    next_look_on = DayField(
        label="Next look on",
        required=False,
        help_text="Leave it empty for the day that the rules set.",
    )

    def __init__(self, *args: Any, repair: Repair, at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.repair, self.at = repair, at
        self.zone: ZoneInfo = repair.member.building.property.zone

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        day, time = cleaned.get("ended_on"), cleaned.get("ended_time")
        if day is None or time is None:
            return cleaned
        ended_at = timezone.make_aware(datetime.combine(day, time), self.zone)
        if ended_at < self.repair.began_at:
            self.add_error("ended_on", "That is before the repair began. Correct the day or time.")
        elif ended_at > self.at:
            self.add_error("ended_on", "That is still to come. Type when it was finished.")
        looked = cleaned.get("next_look_on")
        if looked is not None and looked <= day:
            self.add_error("next_look_on", "The next look comes after the repair was finished.")
        cleaned["ended_at"] = ended_at
        return cleaned


class WithdrawForm(forms.Form):
    reason = forms.CharField(
        label="Why it was entered by mistake",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

"""What the page and the PDF of a history are asked for, in the address."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator

from config.day_field import DayField
from properties.models import Member, Property
from repairs.history.entries import SUBJECT_CHOICES

OUT_OF_REACH = "Type a day between the years 1000 and 2300."
IN_REACH = [
    MinValueValidator(date(1000, 1, 1), OUT_OF_REACH),
    MaxValueValidator(date(2300, 12, 31), OUT_OF_REACH),
]


class HistoryForm(forms.Form):
    """Days, a member and a kind of entry; what is not sound is left out of the telling."""

    member = forms.ModelChoiceField(Member.objects.none(), required=False, empty_label="All")
    subject = forms.ChoiceField(
        label="Kind of entry", required=False, choices=[("", "All"), *SUBJECT_CHOICES]
    )
    year = forms.IntegerField(
        required=False, widget=forms.HiddenInput,
        validators=[MinValueValidator(date.min.year), MaxValueValidator(date.max.year)],
    )  # fmt: skip
    all_owners = forms.BooleanField(
        label="Costs of earlier owners too",
        required=False,
        help_text="For those who look after every property.",
    )

    def __init__(self, of: Property, *args: Any, may_see_all: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        members = Member.objects.filter(building__property=of).select_related("building")
        choice = self.fields["member"]
        assert isinstance(choice, forms.ModelChoiceField)
        choice.queryset = members.order_by("building__name", "mark")
        if not may_see_all:
            del self.fields["all_owners"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("from"), cleaned.get("to")
        if first and last and first > last:
            self.add_error("to", "This is before the first day. Swap the two, or leave one out.")
        return cleaned

    def asked(self, name: str) -> Any:
        return getattr(self, "cleaned_data", {}).get(name)


# Words that Python keeps for itself cannot be attributes of the class.
HistoryForm.base_fields = {
    "from": DayField(label="From", required=False, validators=IN_REACH),
    "to": DayField(
        label="To",
        required=False,
        validators=IN_REACH,
        help_text="Told as things stood at the end of that day.",
    ),
    **HistoryForm.base_fields,
}

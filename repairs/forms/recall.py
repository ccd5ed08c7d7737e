"""The forms of a recall: what is called back, and the looks that are set for it."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from config.day_field import DayField
from materials.models import Lot, Product, SheetRevision
from repairs.due.recall_looks import LONGEST_REASON
from repairs.forms.days import refuse_absurd, refuse_past
from repairs.forms.inspections import PersonChoice, people
from repairs.stories.recall import Subject

MOST_LOTS = 50


class SheetChoice(forms.ModelChoiceField):
    def label_from_instance(self, sheet: SheetRevision) -> str:
        return f"{sheet.product.name}, {sheet.revision}, {sheet.issued_on:%-d %B %Y}"


class ChooseForm(forms.Form):
    """What to call back, where no page has led here."""

    number = forms.CharField(label="Lot number", required=False, max_length=100)
    product = forms.ModelChoiceField(
        Product.objects.all(), required=False, empty_label="None", label="Or all of a product"
    )
    sheet = SheetChoice(
        SheetRevision.objects.select_related("product").order_by("product__name", "issued_on"),
        required=False,
        empty_label="None",
        label="Or what was mixed by one data sheet",
    )

    def subject(self) -> Subject | None:
        if not self.is_valid():
            return None
        sheet, product = self.cleaned_data["sheet"], self.cleaned_data["product"]
        if sheet is not None:
            return Subject(sheet.product, sheet=sheet)
        return Subject(product) if product is not None else None

    def lots(self) -> list[Lot]:
        """The lots of a number like the one typed."""
        number = self.cleaned_data.get("number", "") if self.is_valid() else ""
        if not number:
            return []
        found = Lot.objects.numbered_like(number).select_related("product")
        return list(found.order_by("number", "part", "pk")[:MOST_LOTS])


class RecallLooksForm(forms.Form):
    due_on = DayField(label="Look at them by")
    reason = forms.CharField(
        label="Why",
        max_length=LONGEST_REASON,
        help_text="Such as 'stays soft, the maker calls it back'. It stands with each date.",
    )
    person = PersonChoice(
        label="Who is to look",
        queryset=None,
        required=False,
        empty_label="Nobody yet",
    )
    also_possible = forms.BooleanField(
        label="Also at those with no lot recorded, which may hold some", required=False
    )

    def __init__(self, *args: Any, today: date, any_possible: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["person"].queryset = people()  # type: ignore[attr-defined]
        if not any_possible:
            del self.fields["also_possible"]

    def clean_due_on(self) -> date:
        day: date = self.cleaned_data["due_on"]
        refuse_absurd(day, self.today)
        refuse_past(day, self.today)
        return day

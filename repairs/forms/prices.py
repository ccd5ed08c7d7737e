"""Forms of the price indexes."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from materials.money import minor_digits
from repairs.life_cycle.price_rows import (
    FIRST_YEAR,
    LAST_YEAR,
    MOST_BYTES,
    read_value,
    read_years,
)
from repairs.models import PriceIndex

MOST_SAID = 20


class PriceIndexForm(forms.ModelForm):
    class Meta:
        model = PriceIndex
        fields = ["currency", "name", "source"]
        help_texts = {"currency": "Three letters, such as GBP (ISO 4217)."}
        error_messages = {
            "currency": {
                "unique": "This currency already has a price index. Open it from the list."
            }
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # Capitals are made of small letters below, before the model asks for them.
        self.fields["currency"].validators = []

    def clean_currency(self) -> str:
        currency = str(self.cleaned_data["currency"]).strip().upper()
        try:
            minor_digits(currency)
        except ValueError as error:
            raise forms.ValidationError(str(error), code="unknown-currency") from error
        return currency


class IndexFigureField(forms.CharField):
    """A figure of an index, with a decimal point or comma; cleans to a Decimal above zero."""

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        try:
            return read_value(text)
        except ValueError as error:
            raise forms.ValidationError(str(error), code="figure") from error

    def run_validators(self, value: Any) -> None:
        """The validators of text would look at a number."""


class PriceYearForm(forms.Form):
    year = forms.IntegerField(min_value=FIRST_YEAR, max_value=LAST_YEAR)
    value = IndexFigureField(
        label="Index", help_text="Such as 237.017. A year that is here already takes this figure."
    )

    def years(self) -> dict[int, Decimal]:
        return {self.cleaned_data["year"]: self.cleaned_data["value"]}


class PriceFileForm(forms.Form):
    """A file of years, judged whole: one wrong row and nothing is taken."""

    file = forms.FileField(label="The file", help_text="CSV or plain text.")

    def clean_file(self) -> dict[int, Decimal]:
        sent: UploadedFile = self.cleaned_data["file"]
        read = read_years(sent.read(MOST_BYTES + 1))
        if read.wrong:
            said = list(read.wrong[:MOST_SAID])
            if len(read.wrong) > MOST_SAID:
                said.append(f"{len(read.wrong) - MOST_SAID} more lines are wrong.")
            raise forms.ValidationError([forms.ValidationError(each, "row") for each in said])
        return dict(read.years)

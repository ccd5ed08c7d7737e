"""The rate of the day, where a lot or a cost was paid for in other money than the property's."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.quantities import QuantityError, plain, read_terms
from repairs.models import CostLine

from .log_base import BlockForm

EXAMPLE = "1.27"
LEAST, MOST = Decimal("0.00000001"), Decimal(10) ** 7


class RateField(forms.CharField):
    """Cleans `1.27`, `1,27` or `1 1/4` to a Decimal above zero; empty cleans to None."""

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        try:
            terms = read_terms(plain(text, EXAMPLE), EXAMPLE)
        except QuantityError as error:
            raise ValidationError(str(error), code=error.code) from error
        if len(terms) != 1 or terms[0].word:
            raise ValidationError(f"Type the rate as one figure, such as {EXAMPLE}.", "not-a-rate")
        figure = terms[0].number
        rate = (Decimal(figure.numerator) / figure.denominator).quantize(LEAST)
        if not LEAST <= rate < MOST:
            raise ValidationError(f"Type a rate above zero, such as {EXAMPLE}.", "absurd")
        return rate

    def run_validators(self, value: Any) -> None:
        """The validators of text would look at a number."""


class RatesForm(BlockForm):
    """One field for each foreign currency that may be needed; `needed` are those that are."""

    def __init__(
        self,
        *args: Any,
        currencies: Iterable[str],
        needed: Iterable[str],
        lots: dict[str, list[str]],
        last: dict[str, CostLine | None],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.needed = set(needed)
        for currency in sorted(currencies):
            name = rate_name(currency)
            self.fields[name] = RateField(
                label=f"1 {currency} in {self.currency}",
                required=False,
                max_length=40,
                help_text=_last_words(last.get(currency)),
                widget=forms.TextInput(
                    attrs={
                        "inputmode": "decimal",
                        "autocomplete": "off",
                        # For the page's script: the lots that make this rate needed.
                        "data-for-lots": " ".join(lots.get(currency, ())),
                    }
                ),
            )
            bound: Any = self[name]
            bound.unit = self.currency

    def place_in_words(self) -> str:
        return "Rate of the day, "

    def is_open(self) -> bool:
        return bool(self.needed) or self.needs_attention(*self.fields)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for currency in sorted(self.needed):
            name = rate_name(currency)
            if name not in self.errors and cleaned.get(name) is None:
                self.add_error(
                    name,
                    f"What was used was paid for in {currency}, and this property adds up in "
                    f"{self.currency}. Type what 1 {currency} was worth in {self.currency} on the "
                    f"day, such as {EXAMPLE}.",
                )
        return cleaned

    def rates(self) -> dict[str, Decimal]:
        return {
            name.removeprefix("rate-").upper(): rate
            for name, rate in self.cleaned_data.items()
            if rate is not None
        }


def rate_name(currency: str) -> str:
    return f"rate-{currency.lower()}"


def _last_words(line: CostLine | None) -> str:
    if line is None:
        return ""
    return f"Last used here: {line.rate.normalize():f}, on {line.worked_on:%-d %B %Y}."

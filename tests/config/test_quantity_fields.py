"""Figures with units in a form: typed and shown in the reader's units, cleaned to ours."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django import forms

from config.quantities import Quantity, UnitSystem
from config.quantity_fields import QuantityField, apply_units
from materials.money_fields import MoneyField

METRIC, US = UnitSystem.METRIC, UnitSystem.US
HALF_INCH = Decimal("12.7")


class StageForm(forms.Form):
    thickness = QuantityField(
        Quantity.LENGTH, min_value=HALF_INCH, max_value=Decimal(50), required=False
    )
    pot_life = QuantityField(Quantity.DURATION, max_value=timedelta(hours=8), required=False)
    surface = QuantityField(Quantity.TEMPERATURE, required=False, help_text="Of the wood.")
    price = MoneyField(required=False)


def form(system: UnitSystem = METRIC, currency: str = "GBP", **kwargs: Any) -> StageForm:
    made = StageForm(**kwargs)
    apply_units(made, system, currency)
    return made


@pytest.mark.parametrize(
    ("system", "typed", "mm"),
    [
        (METRIC, "13", "13.00"),
        (US, "1/2", "12.70"),
        (US, "38mm", "38.00"),
        (METRIC, "1 1/2 in", "38.10"),
    ],
)
def test_a_length_is_cleaned_to_millimetres(system: UnitSystem, typed: str, mm: str) -> None:
    sent = form(system, data={"thickness": typed})
    assert sent.is_valid()
    assert str(sent.cleaned_data["thickness"]) == mm


def test_an_empty_figure_is_none_and_never_nought() -> None:
    sent = form(data={"thickness": " ", "price": ""})
    assert sent.is_valid()
    assert set(sent.cleaned_data.values()) == {None}


def test_nought_is_a_figure() -> None:
    sent = form(data={"surface": "0", "price": "0"})
    assert sent.is_valid()
    assert sent.cleaned_data["surface"] == 0
    assert sent.cleaned_data["price"] == 0


def test_a_required_figure_must_be_typed() -> None:
    with pytest.raises(forms.ValidationError):
        QuantityField(Quantity.MASS).clean("")


def test_the_limits_are_told_in_the_readers_units() -> None:
    assert form(US, data={"thickness": "1/4"}).errors["thickness"] == [
        "This must be at least 1/2 in."
    ]
    assert form(data={"thickness": "60"}).errors["thickness"] == ["This must be at most 50 mm."]
    assert form(data={"pot_life": "9 h"}).errors["pot_life"] == ["This must be at most 8 h."]


def test_what_was_typed_stays_after_a_rejected_post() -> None:
    sent = form(US, data={"thickness": "1/0", "price": "<b>lots"})
    assert not sent.is_valid()
    assert 'value="1/0"' in str(sent["thickness"])
    assert 'value="&lt;b&gt;lots"' in str(sent["price"])
    assert sent.errors["thickness"].as_data()[0].code == "zero-below"


def test_a_kept_figure_is_shown_in_the_readers_units() -> None:
    initial = {
        "thickness": HALF_INCH, "pot_life": timedelta(minutes=90), "surface": Decimal(20),
        "price": Decimal("1234.5"),
    }  # fmt: skip
    shown = {bound.name: bound.value() for bound in form(US, initial=initial)}
    assert shown == {
        "thickness": "1/2 in", "pot_life": "1 h 30 min", "surface": "68 °F", "price": "1234.50",
    }  # fmt: skip


@pytest.mark.parametrize("system", [METRIC, US])
@pytest.mark.parametrize("mm", ["12.70", "13.00", "33.33", "49.99"])
def test_saving_untouched_changes_nothing(system: UnitSystem, mm: str) -> None:
    initial = {"thickness": Decimal(mm), "price": Decimal("20.00")}
    shown = {bound.name: bound.value() or "" for bound in form(system, initial=initial)}
    sent = form(system, data=shown, initial=initial)
    assert not sent.has_changed()
    assert sent.is_valid()
    assert sent.cleaned_data["thickness"] == Decimal(mm)


def test_the_help_names_the_unit_of_a_bare_number() -> None:
    assert form().fields["surface"].help_text == (
        "Of the wood. Such as 20 °C. A bare number is in °C."
    )
    assert form(US).fields["thickness"].help_text.endswith("A bare number is in inches.")
    assert form(currency="JPY").fields["price"].help_text == "In JPY."


def test_one_form_does_not_change_the_units_of_another() -> None:
    form(US, currency="USD")
    assert StageForm().fields["thickness"].system == METRIC  # type: ignore[attr-defined]
    assert StageForm().fields["price"].currency == "GBP"  # type: ignore[attr-defined]


def test_money_follows_the_currency_of_the_form() -> None:
    sent = form(currency="EUR", data={"price": "1.234,50"})
    assert sent.is_valid()
    assert sent.cleaned_data["price"] == Decimal("1234.50")
    assert "not in £" in form(currency="EUR", data={"price": "£20"}).errors["price"][0]
    assert "JPY has no digits" in form(currency="JPY", data={"price": "1.5"}).errors["price"][0]


def test_money_is_not_below_zero_unless_allowed() -> None:
    assert form(data={"price": "-3"}).errors["price"] == ["This must be at least GBP 0.00."]
    assert MoneyField(min_value=None).clean("-3") == -3

"""Products, the packs they are sold in, and the figures of their data sheets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.forms.boundfield import BoundField

from config.day_field import DayField
from config.quantities import Quantity
from config.quantity_fields import QuantityField
from materials.models import Kit, Product, SheetRevision
from materials.money import from_minor, to_minor
from materials.money_fields import MoneyField
from materials.rates import energy_of
from materials.sheet_figures import FIGURES, GROUPS, TWO_PARTS_ONLY, WITH_MORE, Figure

from .records import CurrencyField, StoresForm, sensible_day


class ProductForm(StoresForm, forms.ModelForm):
    withdrawn_on = DayField(
        label="No longer bought from", required=False, help_text="Its records stay."
    )

    class Meta:
        model = Product
        fields = ["name", "maker", "kind", "parts", "withdrawn_on", "notes"]
        widgets = {"parts": forms.RadioSelect, "notes": forms.Textarea(attrs={"rows": 3})}
        labels = {"parts": "How it comes"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["parts"].choices = Product.Parts.choices  # type: ignore[attr-defined]

    def clean_withdrawn_on(self) -> date | None:
        return sensible_day(self.cleaned_data["withdrawn_on"], self.on, "The day", ahead=True)

    def clean_parts(self) -> int:
        parts: int = self.cleaned_data["parts"]
        before = self.instance.parts if self.instance.pk else parts
        if parts != before and (self.instance.lots.exists() or self.instance.sheets.exists()):
            raise ValidationError(
                "Lots or sheets of this product stand on how it came so far. Enter it as another "
                "product instead.",
                code="in-use",
            )
        return parts


class GivenProductForm(StoresForm, forms.ModelForm):
    """A form about something of one product, which the page gives."""

    def __init__(self, *args: Any, product: Product, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.product = product
        self.product = product

    def _get_validation_exclusions(self) -> set[str]:
        """The product counts in the constraints, though it is not typed."""
        excluded: set[str] = super()._get_validation_exclusions()  # type: ignore[misc]
        return excluded - {"product"}


class KitForm(GivenProductForm):
    mass_a_g = QuantityField(Quantity.MASS, label="Part A by weight", required=False, places=2)
    mass_b_g = QuantityField(Quantity.MASS, label="Part B by weight", required=False, places=2)
    volume_a_ml = QuantityField(Quantity.VOLUME, label="Part A by volume", required=False, places=2)
    volume_b_ml = QuantityField(Quantity.VOLUME, label="Part B by volume", required=False, places=2)
    price = MoneyField(label="List price of one pack", required=False)
    currency = CurrencyField()

    class Meta:
        model = Kit
        fields = [
            "name", "mass_a_g", "mass_b_g", "volume_a_ml", "volume_b_ml", "price", "currency",
        ]  # fmt: skip

    def __init__(self, *args: Any, product: Product, **kwargs: Any) -> None:
        kit = kwargs.get("instance")
        if kit is not None and kit.price_minor is not None:
            kwargs["initial"] = {"price": from_minor(kit.price_minor, kit.currency)}
        super().__init__(*args, product=product, **kwargs)
        if product.parts == Product.Parts.ONE:
            del self.fields["mass_b_g"], self.fields["volume_b_ml"]
            self.fields["mass_a_g"].label = "Holds, by weight"
            self.fields["volume_a_ml"].label = "Holds, by volume"

    def clean(self) -> dict[str, Any]:
        super().clean()
        for kind, a, b in (
            ("weight", "mass_a_g", "mass_b_g"), ("volume", "volume_a_ml", "volume_b_ml"),
        ):  # fmt: skip
            known = {self.cleaned_data.get(a) is None, self.cleaned_data.get(b) is None}
            if b in self.fields and len(known) == 2 and not {a, b} & set(self.errors):
                self.add_error(
                    b,
                    ValidationError(
                        f"Give both A and B by {kind}, or neither.", code="half-a-pack"
                    ),
                )
        return self.cleaned_data

    def save(self, commit: bool = True) -> Kit:
        price, currency = self.cleaned_data["price"], self.cleaned_data["currency"]
        self.instance.price_minor = None if price is None else to_minor(price, currency)
        saved: Kit = super().save(commit)
        return saved


@dataclass(frozen=True)
class FieldGroup:
    """Fields of one kind, two and two as they stand side by side."""

    title: str
    pairs: tuple[tuple[BoundField, ...], ...]


def figure_field(column: models.Field, **kwargs: Any) -> forms.Field | None:
    """A figure with a unit is typed in the person's units; the rest as Django has it."""
    figure = FIGURES.get(column.name)
    if isinstance(column, models.URLField):
        return column.formfield(**kwargs, assume_scheme="https")
    if figure is None or figure.kind is None:
        return column.formfield(**kwargs)
    return QuantityField(
        figure.kind, required=False, places=getattr(column, "decimal_places", None)
    )


class SheetForm(GivenProductForm):
    """A new revision. The figures of the last one stand in it to begin with; an empty figure
    means that the sheet is silent."""

    issued_on = DayField(
        label="Issued on", error_messages={"required": "Give the day printed on the sheet."}
    )
    does_not_apply = forms.MultipleChoiceField(
        label="Figures that have no meaning for this product",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = SheetRevision
        fields = ["revision", "issued_on", *FIGURES]
        widgets = {"hazards": forms.Textarea(attrs={"rows": 3})}
        formfield_callback = figure_field

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.product.parts == Product.Parts.ONE:
            for name in TWO_PARTS_ONLY:
                del self.fields[name]
        for name, figure in FIGURES.items():
            if name in self.fields:
                self.fields[name].label = figure.label
        does_not_apply: Any = self.fields["does_not_apply"]
        does_not_apply.choices = [
            (name, figure.label) for name, figure in FIGURES.items() if name in self.fields
        ]

    def groups(self) -> Iterator[FieldGroup]:
        """The figures in the order of the sheet, as far as this product has them. One that others
        belong to begins a row, so that they stand beside it."""
        for group in GROUPS:
            pairs: list[list[BoundField]] = []
            for figure in group.figures:
                if figure.name not in self.fields:
                    continue
                if not pairs or len(pairs[-1]) == 2 or figure.name in WITH_MORE:
                    pairs.append([])
                pairs[-1].append(self._beside_unit(figure))
            yield FieldGroup(group.title, tuple(tuple(pair) for pair in pairs))

    def _beside_unit(self, figure: Figure) -> BoundField:
        bound = self[figure.name]
        bound.unit = figure.unit  # type: ignore[attr-defined]
        return bound

    def clean_issued_on(self) -> date | None:
        return sensible_day(self.cleaned_data["issued_on"], self.on, "The day of issue")

    def clean_activation_energy_kj_mol(self) -> Decimal | None:
        energy: Decimal | None = self.cleaned_data["activation_energy_kj_mol"]
        try:
            energy_of(energy)
        except ValueError as error:
            raise ValidationError(f"{error} Check the figure and its unit.", code="range") from None
        return energy

    def clean(self) -> dict[str, Any]:
        super().clean()
        for name in self.cleaned_data.get("does_not_apply", []):
            if self.cleaned_data.get(name) not in (None, ""):
                self.add_error(
                    name,
                    ValidationError(
                        "A figure is typed here, and below it is said not to apply. "
                        "Clear one of the two.",
                        code="both",
                    ),
                )
        return self.cleaned_data

    def _post_clean(self) -> None:
        self.instance.not_applicable = sorted(
            {
                *self.cleaned_data.get("does_not_apply", []),
                *(TWO_PARTS_ONLY if self.product.parts == Product.Parts.ONE else ()),
            }
        )
        super()._post_clean()  # type: ignore[misc]

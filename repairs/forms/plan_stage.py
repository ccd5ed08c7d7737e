"""One stage of a plan, and the products that can be chosen for it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.measured_words import in_units
from config.quantities import Quantity, UnitSystem, show
from materials.models import Lot, Product, SheetRevision
from properties.heat import ExpectedSurface
from properties.models import Member
from repairs.logbook.facts import face_of
from repairs.models import Plan, PlanStage, Stage

from .log_lots import SUITS
from .plan_work import RowForm, size

MOST_COATS = 10
Choices = list[tuple[str, str | list[tuple[str, str]]]]
KINDS = {"g": Quantity.MASS, "ml": Quantity.VOLUME}


@dataclass(frozen=True)
class OnOffer:
    product: Product
    sheet: SheetRevision
    on_hand: tuple[tuple[Decimal, str], ...]  # amounts by unit

    def words(self, face: ExpectedSurface | None, system: UnitSystem | str) -> str:
        held = " + ".join(show(amount, KINDS[unit], system) for amount, unit in self.on_hand)
        stock = f"{held} on hand" if held else "none on hand"
        heat = in_units(heat_words(self.sheet, face), system)
        return " · ".join(part for part in (self.product.name, stock, heat) if part)


def heat_words(sheet: SheetRevision, face: ExpectedSurface | None) -> str:
    """How the product stands the heat of the face, in a few words; nothing of paint, nor where
    the heat of the face is not known."""
    resins = {kind for name in ("seal", "fill") for kind in SUITS[name]}
    if face is None or sheet.product.kind not in resins:
        return ""
    if sheet.heat_deflection_c is None:
        return "softens at a heat not told"
    margin = sheet.heat_deflection_c - face.celsius
    side = "above" if margin >= 0 else "below"
    figure = f"{abs(margin).quantize(Decimal(1)):f} K"
    return f"softens {figure} {side} this face"


class Offers:
    """What can be chosen for a stage, read once for the page."""

    def __init__(self, member: Member, on: date, system: UnitSystem | str) -> None:
        self.member, self.on, self.system = member, on, system
        self._choices: dict[str, Choices] = {}

    @cached_property
    def face(self) -> ExpectedSurface | None:
        return face_of(self.member)

    @cached_property
    def by_product(self) -> Mapping[str, OnOffer]:
        held = self._held()
        products = Product.objects.prefetch_related("sheets").order_by("name", "maker")
        found = {}
        for product in products:
            sheet = product.sheet_on(self.on)
            amounts = tuple((left, unit) for unit, left in held.get(product.pk, {}).items())
            # What is no longer bought is offered while some of it is left.
            gone = product.withdrawn_on is not None and product.withdrawn_on <= self.on
            if sheet is not None and (amounts or not gone):
                sheet.product = product
                found[str(product.pk)] = OnOffer(product, sheet, amounts)
        return found

    def _held(self) -> dict[int, dict[str, Decimal]]:
        held: dict[int, dict[str, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
        for lot in Lot.objects.holding_stock().usable(self.on).with_remaining():
            if lot.remaining() > 0:
                held[lot.product_id][lot.unit] += lot.remaining()
        return held

    def choices(self, stage: str) -> Choices:
        """Those that suit the stage first; of these what is on hand before what is not."""
        if stage not in self._choices:
            self._choices[stage] = self._set_out(SUITS.get(stage, ()))
        return self._choices[stage]

    def _set_out(self, suiting: tuple[str, ...]) -> Choices:
        groups: dict[str, list[tuple[str, str]]] = {}
        for key, offer in sorted(self.by_product.items(), key=_held_first):
            suits = not suiting or offer.product.kind in suiting
            name = ("On hand" if offer.on_hand else "To buy") if suits else "Made for other stages"
            groups.setdefault(name, []).append((key, offer.words(self.face, self.system)))
        order = ("On hand", "To buy", "Made for other stages")
        return [("", "No product"), *((name, groups[name]) for name in order if name in groups)]


def _held_first(entry: tuple[str, OnOffer]) -> tuple[bool, str]:
    return not entry[1].on_hand, str(entry[1].product)


class PlanStageForm(RowForm):
    what = "Stage"

    kind = forms.ChoiceField(
        label="Stage", choices=[("", "Choose the stage"), *Stage.Kind.choices], required=False
    )
    product = forms.ChoiceField(
        label="With", required=False,
        error_messages={"invalid_choice": "This product can no longer be chosen. Take another."},
    )  # fmt: skip
    coats = forms.IntegerField(
        label="Coats", required=False, min_value=1, max_value=MOST_COATS,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "placeholder": "1"}),
    )  # fmt: skip
    layer = size("Thickness of one layer", Decimal(1000), help_text="Empty: as the sheet allows.")

    def __init__(self, *args: Any, offers: Offers, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offers = offers
        product: Any = self.fields["product"]
        product.choices = offers.choices(self.typed("kind"))

    def place_in_words(self) -> str:
        return f"{self.number}. {self.title()}, "

    def title(self) -> str:
        kind = self.typed("kind")
        return str(Stage.Kind(kind).label) if kind in Stage.Kind.values else "Another stage"

    def takes_a_product(self) -> bool:
        return self.typed("kind") in ("", *SUITS) or self.needs_attention("product")

    def takes_a_layer(self) -> bool:
        return self.typed("kind") == Stage.Kind.FILL or self.needs_attention("layer")

    def takes_coats(self) -> bool:
        kinds = (Stage.Kind.SEAL, Stage.Kind.TREAT, Stage.Kind.PRIME, Stage.Kind.PAINT)
        return self.typed("kind") in kinds or self.needs_attention("coats")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("kind") and "kind" not in self.errors:
            message = "Choose which stage this is, or leave it out."
            self.add_error("kind", ValidationError(message, code="required"))
        bare = not cleaned.get("product") and "product" not in self.errors
        if bare and cleaned.get("layer") is not None:
            message = "Choose a product, or clear the thickness of the layer."
            self.add_error("product", ValidationError(message, code="required"))
        return cleaned

    def row(self, plan: Plan) -> PlanStage:
        cleaned = self.cleaned_data
        offer = self.offers.by_product.get(cleaned["product"])
        return PlanStage(
            plan=plan, position=self.number, kind=cleaned["kind"],
            sheet=offer.sheet if offer else None,
            coats=cleaned["coats"] or 1, layer_mm=cleaned["layer"],
        )  # fmt: skip

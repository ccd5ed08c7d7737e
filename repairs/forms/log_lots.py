"""What can be chosen for a batch: kits, pairs of an A lot and a B lot, and one-part lots."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_DOWN, Decimal

from django.db.models import Prefetch, prefetch_related_objects

from materials.models import Lot, Product
from repairs.logbook.batch_costs import priced_in
from repairs.models import Stage

SUITS: dict[str, tuple[str, ...]] = {
    Stage.Kind.TREAT: (Product.Kind.PRESERVATIVE,),
    Stage.Kind.SEAL: (Product.Kind.SEALER, Product.Kind.LAMINATING_RESIN),
    Stage.Kind.FILL: (Product.Kind.FILLER, Product.Kind.ADHESIVE, Product.Kind.LAMINATING_RESIN),
    Stage.Kind.PRIME: (Product.Kind.PAINT_PRIMER,),
    Stage.Kind.PAINT: (Product.Kind.PAINT, Product.Kind.PAINT_PRIMER),
}
Choices = list[tuple[str, str | list[tuple[str, str]]]]


def tidy(amount: Decimal) -> str:
    """At most one digit after the point, as a scale reads."""
    return f"{amount.quantize(Decimal('0.1')).normalize():,f}"


@dataclass(frozen=True)
class Offer:
    """One line of the choice. A one-part product has its lot in `a` and none in `b`."""

    value: str
    product: Product
    a: Lot
    b: Lot | None
    kit: Lot | None = None

    def lots(self) -> list[Lot]:
        return [lot for lot in (self.a, self.b) if lot is not None]

    @property
    def currencies(self) -> set[str]:
        """In which money its lots were paid for."""
        return {priced_in(lot) for lot in self.lots()} - {""}

    def is_one_part(self) -> bool:
        return self.a.part == Lot.Part.ONE

    def why_not_usable(self, on: date) -> str:
        for lot in [*self.lots(), *([self.kit] if self.kit else [])]:
            if lot.held_back:
                return f"held back: {lot.held_back_reason}"
            if lot.usable_until and lot.usable_until < on:
                return f"past its last day, {lot.usable_until:%-d %B %Y}"
        return ""

    def last_day(self) -> date | None:
        return min((lot.usable_until for lot in self.lots() if lot.usable_until), default=None)

    def kits_remaining(self) -> Decimal | None:
        """How many packs could still be mixed from the parts of a kit."""
        if self.kit is None or not self.kit.kits_received:
            return None
        shares = [lot.remaining() / lot.received() for lot in self.lots() if lot.received()]
        return min(shares) * self.kit.kits_received if shares else None

    def words(self, on: date) -> str:
        numbers = self.kit.number if self.kit else " + ".join(lot.number for lot in self.lots())
        left = " + ".join(f"{tidy(lot.remaining())} {lot.unit}" for lot in self.lots())
        kits = self.kits_remaining()
        if kits is not None:
            left = f"{kits.quantize(Decimal('0.01'), ROUND_DOWN).normalize():f} kit, {left}"
        day = self.last_day()
        if why := self.why_not_usable(on):
            until = why
        else:
            until = f"use by {day:%-d %b %Y}" if day else "no expiry recorded"
        return f"{self.product.name} · {numbers} · {left} left · {until}"


class Stock:
    """All that is in stores, read once for a page in a number of queries that never grows."""

    def __init__(self, on: date) -> None:
        self.on = on
        self.lots = list(
            Lot.objects.filter(emptied_on__isnull=True)
            .with_remaining()
            .with_parents()
            .soonest_expiry_first()
        )
        self.offers = {offer.value: offer for offer in self._offers()}

    def _offers(self) -> Iterable[Offer]:
        in_kit: dict[int, dict[str, Lot]] = defaultdict(dict)
        loose_b: dict[int, list[Lot]] = defaultdict(list)
        for lot in self.lots:
            if lot.parent_id:
                in_kit[lot.parent_id][lot.part] = lot
            elif lot.part == Lot.Part.B:
                loose_b[lot.product_id].append(lot)
        for lot in self.lots:
            parts = in_kit.get(lot.pk, {})
            if lot.part == Lot.Part.KIT and Lot.Part.A in parts:
                a, b = parts[Lot.Part.A], parts.get(Lot.Part.B)
                yield Offer(str(lot.pk), lot.product, a, b, kit=lot)
            elif lot.part == Lot.Part.ONE:
                yield Offer(str(lot.pk), lot.product, lot, None)
            elif lot.part == Lot.Part.A and not lot.parent_id:
                yield Offer(str(lot.pk), lot.product, lot, self._soonest(loose_b[lot.product_id]))

    def _soonest(self, lots: list[Lot]) -> Lot | None:
        usable = [lot for lot in lots if lot.is_usable(self.on) and lot.remaining() > 0]
        return next(iter(usable or lots), None)

    def read_for_booking(self) -> None:
        """Data sheets, and what a kit held in all, are wanted only when batches are judged and
        booked, not to show the choice."""
        whole = Prefetch("parent__part_lots", Lot.objects.with_remaining())
        prefetch_related_objects(self.lots, "product__sheets", whole)

    def choices(self, stage_kind: str = "") -> Choices:
        """Grouped by product, those that suit the stage first; what is not usable comes last."""
        groups: dict[Product, list[Offer]] = defaultdict(list)
        unusable: list[Offer] = []
        for offer in self.offers.values():
            (unusable if offer.why_not_usable(self.on) else groups[offer.product]).append(offer)
        suiting = SUITS.get(stage_kind, ())
        ordered = sorted(
            groups,
            key=lambda product: (
                suiting.index(product.kind) if product.kind in suiting else len(suiting),
                product.name,
            ),
        )
        choices: Choices = [("", "Choose what was mixed")]
        for product in ordered:
            offers = sorted(groups[product], key=_soonest_that_has_some)
            choices.append((str(product), [(o.value, o.words(self.on)) for o in offers]))
        if unusable:
            choices.append(("Not usable", [(o.value, o.words(self.on)) for o in unusable]))
        return choices

    def find(self, product: Product, part: str, number: str) -> Lot | None:
        """The lot of a product by its number as typed; the soonest to expire if two share it."""
        wanted = number.strip().casefold()
        for lot in self.lots:
            if (
                lot.product_id == product.pk
                and lot.part == part
                and lot.number.casefold() == wanted
            ):
                return lot
        return None

    def numbers(self, part: str, product: Product | None = None) -> list[str]:
        return sorted(
            {
                lot.number
                for lot in self.lots
                if lot.part == part and (product is None or lot.product_id == product.pk)
            }
        )


def _soonest_that_has_some(offer: Offer) -> tuple[bool, date, int]:
    empty = all(lot.remaining() <= 0 for lot in offer.lots())
    return (empty, offer.last_day() or date.max, offer.a.pk)

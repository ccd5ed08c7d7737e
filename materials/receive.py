"""Receiving goods into the stores: a lot with its first ledger line, or a kit as parent of its
A lot and B lot, all in one transaction."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.db.models import QuerySet

from materials.models import Kit, Lot, Movement, Product
from materials.stock import Occasion


@dataclass(frozen=True)
class NumberedPart:
    """One part as it came: its number as printed, its printed expiry, how much in all."""

    part: str
    number: str
    expires_on: date | None
    amount: Decimal
    low_below: Decimal | None = None


@dataclass(frozen=True)
class Delivery:
    """What came in under one set of numbers. Two parts make a kit of `packs` packs."""

    product: Product
    parts: tuple[NumberedPart, ...]
    unit: str
    received_on: date
    made_on: date | None = None
    kit: Kit | None = None
    packs: Decimal | None = None
    number: str = ""
    price_minor: int | None = None
    currency: str = "GBP"
    supplier: str = ""
    invoice: str = ""
    kept_at: str = ""
    notes: str = ""

    def kit_number(self) -> str:
        """The number on the pack, or the numbers of its parts where the pack has none."""
        return self.number or " + ".join(part.number for part in self.parts)[:80]

    def past_expiry(self) -> list[NumberedPart]:
        """The parts that were past their printed expiry on the day on which they came."""
        return [
            part for part in self.parts if part.expires_on and part.expires_on < self.received_on
        ]


def already_received(product: Product, part: str, number: str) -> QuerySet[Lot]:
    return Lot.objects.filter(product=product, part=part, number=number)


@transaction.atomic
def receive(delivery: Delivery, when: Occasion) -> Lot:
    """The kit, or the one lot, with the received lines in the ledger."""
    if len(delivery.parts) == 1:
        (part,) = delivery.parts
        lot = _lot(delivery, part)
        lot.price_minor = delivery.price_minor
        return _book(lot, part, when)
    parent = _kit(delivery)
    _save(parent)
    for part in delivery.parts:
        lot = _lot(delivery, part)
        lot.parent = parent
        _book(lot, part, when)
    return parent


def _lot(delivery: Delivery, part: NumberedPart) -> Lot:
    return Lot(
        product=delivery.product,
        part=part.part,
        number=part.number,
        kit=delivery.kit,
        unit=delivery.unit,
        received_on=delivery.received_on,
        made_on=delivery.made_on,
        expires_on=part.expires_on,
        currency=delivery.currency,
        supplier=delivery.supplier,
        invoice=delivery.invoice,
        kept_at=delivery.kept_at,
        low_below=part.low_below,
        notes=delivery.notes,
    )


def _kit(delivery: Delivery) -> Lot:
    """The parent of a kit; it is usable as a whole for as long as each of its parts."""
    printed = [part.expires_on for part in delivery.parts if part.expires_on]
    return Lot(
        product=delivery.product,
        part=Lot.Part.KIT,
        number=delivery.kit_number(),
        kit=delivery.kit,
        kits_received=delivery.packs,
        unit=delivery.unit,
        received_on=delivery.received_on,
        made_on=delivery.made_on,
        expires_on=min(printed, default=None),
        price_minor=delivery.price_minor,
        currency=delivery.currency,
        supplier=delivery.supplier,
        invoice=delivery.invoice,
        kept_at=delivery.kept_at,
        notes=delivery.notes,
    )


def _save(lot: Lot) -> None:
    lot.full_clean()
    lot.save(force_insert=True)


def _book(lot: Lot, part: NumberedPart, when: Occasion) -> Lot:
    _save(lot)
    lot.move(Movement.Kind.RECEIVED, part.amount, when.at, when.by, when.note)
    return lot

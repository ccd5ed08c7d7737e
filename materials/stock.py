"""What may happen to a lot in the stores. Each act writes a line of the ledger or sets one fact;
what was written is only ever put right by a further line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import transaction
from django.utils import timezone

from materials.models import Lot, Movement, Product, SheetRevision

if TYPE_CHECKING:
    from django.contrib.auth.models import User

NOTHING = Decimal(0)


class StockRefusal(ValueError):
    """An act that makes no sense for this lot; `str(error)` says what to do instead."""


@dataclass(frozen=True)
class Occasion:
    """When something was done in the stores, by whom, and what they say about it."""

    at: datetime
    by: User | None
    note: str = ""


@transaction.atomic
def count(lot: Lot, found: Decimal, when: Occasion) -> Movement:
    """Somebody weighed what is left; the ledger takes the difference, even if it is none."""
    lot = _locked(lot)
    line = lot.move(Movement.Kind.COUNTED, found - lot.remaining(), when.at, when.by, when.note)
    _settle(lot, timezone.localdate(when.at))
    return line


@transaction.atomic
def waste(lot: Lot, amount: Decimal, when: Occasion) -> Movement:
    """Some of it was lost outside any batch: spilt, gone off, left in the tin."""
    lot = _locked(lot)
    return lot.move(Movement.Kind.WASTED, -amount, when.at, when.by, when.note)


@transaction.atomic
def discard(lot: Lot, when: Occasion) -> list[Movement]:
    """Throw away all that is left; of a kit, of both its parts."""
    lines = []
    for part in _stock_of(lot):
        if part.remaining() > 0:
            lines.append(
                part.move(Movement.Kind.DISCARDED, -part.remaining(), when.at, when.by, when.note)
            )
        _empty(part, timezone.localdate(when.at))
    if lot.part == Lot.Part.KIT:
        _empty(lot, timezone.localdate(when.at))
    return lines


@transaction.atomic
def put_elsewhere(lot: Lot, place: str, when: Occasion) -> list[Movement]:
    """Note a new place in the stores; a kit moves with both its parts."""
    lines = [
        part.move(Movement.Kind.MOVED, NOTHING, when.at, when.by, when.note, place)
        for part in _stock_of(lot)
    ]
    for each in _with_parts(lot):
        each.kept_at = place
        each.save(update_fields=["kept_at"])
    return lines


@transaction.atomic
def open_lot(lot: Lot, on: date) -> None:
    """Its life once opened runs from this day; opening a kit opens both its parts."""
    for each in _with_parts(lot):
        if on < each.received_on:
            raise StockRefusal(
                f"It was received on {each.received_on:%-d %B %Y} and cannot have been opened "
                "before. Check both days."
            )
        if each.opened_on is None or each.pk == lot.pk:
            each.opened_on = on
            each.save(update_fields=["opened_on"])


@transaction.atomic
def hold_back(lot: Lot, reason: str) -> None:
    """Nobody should mix it until it is released; a kit is held with both its parts."""
    for each in _with_parts(lot):
        each.held_back, each.held_back_reason = True, reason
        each.save(update_fields=["held_back", "held_back_reason"])


@transaction.atomic
def release(lot: Lot) -> None:
    if lot.parent is not None and lot.parent.held_back:
        raise StockRefusal("Its kit is held back. Release the kit, and this lot goes with it.")
    for each in _with_parts(lot):
        each.held_back, each.held_back_reason = False, ""
        each.save(update_fields=["held_back", "held_back_reason"])


@transaction.atomic
def reverse(line: Movement, when: Occasion) -> Movement:
    """A further line that takes back an earlier one."""
    lot = _locked(line.lot)
    if line.reverses_id is not None:
        raise StockRefusal("This line takes back another one. Enter a new line instead.")
    if Movement.objects.filter(reverses=line).exists():
        raise StockRefusal("This line has been taken back already.")
    if line.kind == Movement.Kind.MOVED:
        raise StockRefusal("A move is put right by moving it again.")
    further = Movement(
        lot=lot,
        kind=line.kind,
        amount=-line.amount,
        at=when.at,
        entered_by=when.by,
        note=when.note,
        reverses=line,
    )
    further.full_clean()
    further.save(force_insert=True)
    _settle(lot, timezone.localdate(when.at))
    return further


@transaction.atomic
def add_sheet(sheet: SheetRevision) -> SheetRevision:
    """Keep a new sheet revision. Where it says another shelf life, the last usable days of the
    lots that it holds for follow it; what batches say of themselves does not change."""
    sheet.save(force_insert=True)
    product = Product.objects.prefetch_related("sheets").get(pk=sheet.product_id)
    for lot in product.lots.kept():
        lot.save(update_fields=["usable_until"])
    return sheet


def _locked(lot: Lot) -> Lot:
    """The lot as it stands now, kept from others until this is written."""
    return (
        Lot.objects.select_for_update(of=("self",))
        .select_related("product", "parent")
        .get(pk=lot.pk)
    )


def _stock_of(lot: Lot) -> list[Lot]:
    """The lots with a ledger, kept from others until this is written."""
    if lot.part != Lot.Part.KIT:
        return [_locked(lot)]
    parts = Lot.objects.select_for_update(of=("self",)).filter(parent=lot)
    return list(parts.select_related("parent").prefetch_related("product__sheets"))


def _with_parts(lot: Lot) -> list[Lot]:
    return [lot, *lot.part_lots.prefetch_related("product__sheets")]


def _empty(lot: Lot, on: date) -> None:
    if lot.emptied_on is None:
        lot.emptied_on = on
        lot.save(update_fields=["emptied_on"])
    _settle_kit(lot)


def _settle(lot: Lot, on: date) -> None:
    """After a count or a correction: nothing left is empty, anything left is not."""
    left = lot.remaining()
    if left == 0:
        _empty(lot, on)
    elif lot.emptied_on is not None:
        lot.emptied_on = None
        lot.save(update_fields=["emptied_on"])
        _settle_kit(lot)


def _settle_kit(part: Lot) -> None:
    """A kit is used up on the day on which the last of its parts was."""
    kit = part.parent
    if kit is None:
        return
    days = list(kit.part_lots.values_list("emptied_on", flat=True))
    known = [day for day in days if day is not None]
    used_up = max(known) if len(known) == len(days) else None
    if kit.emptied_on != used_up:
        kit.emptied_on = used_up
        kit.save(update_fields=["emptied_on"])

"""Booking a batch out of the stores: its parts, their ledger lines, and where its grams went."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import ROUND_DOWN, Decimal
from typing import TYPE_CHECKING

from django.db.models import Sum

from materials.models import Lot, Movement
from repairs.logbook.batch_costs import part_costs
from repairs.logbook.checked_row import checked
from repairs.models import Batch, BatchPart, BatchShare, Stage

if TYPE_CHECKING:
    from django.contrib.auth.models import User

    from repairs.logbook.entry import BatchEntry, EarlierBatchEntry, PartEntry

STEP, MILLIONTH = Decimal("0.001"), Decimal("0.000001")


def mixed_amount(entry: BatchEntry) -> Decimal:
    return sum((part.amount for part in entry.parts), Decimal(0))


def wasted_amount(entry: BatchEntry) -> Decimal:
    """What went to waste, as far as it was recorded."""
    return mixed_amount(entry) if entry.abandoned else entry.waste or Decimal(0)


def used_amount(entry: BatchEntry) -> Decimal:
    """What went into the stage that the batch was mixed for."""
    if entry.abandoned:
        return Decimal(0)
    return mixed_amount(entry) - wasted_amount(entry) - (entry.left_over or Decimal(0))


def split_amount(total: Decimal, weights: list[Decimal]) -> list[Decimal]:
    """An amount in proportion to weights, to the ledger's step; the parts add up to it."""
    whole = sum(weights)
    shares = [(total * weight / whole).quantize(STEP, ROUND_DOWN) for weight in weights]
    shares[weights.index(max(weights))] += total - sum(shares)
    return shares


def unplaced_amount(batch: Batch) -> Decimal:
    """What is left of a batch that was neither used nor wasted, in the unit of its parts."""
    placed = batch.shares.aggregate(total=Sum("amount"))["total"] or Decimal(0)
    return batch.total() - placed


def book_batch(entry: BatchEntry, stage: Stage, done_by: str, by: User | None) -> Batch:
    batch = Batch(
        sheet=entry.sheet,
        basis=entry.basis,
        typed=entry.typed,
        mixed_for=stage,
        mixed_at=entry.mixed_at,
        applied_at=entry.applied_at,
        air_c=entry.air_c,
        surface_c=entry.surface_c,
        humidity_pct=entry.humidity_pct,
        abandoned=entry.abandoned,
        mixed_by=done_by,
        notes=entry.notes,
    )
    checked(batch).save(force_insert=True)
    wastes = split_amount(wasted_amount(entry), [part.amount for part in entry.parts])
    costs = part_costs(entry.parts)
    for part, waste, cost in zip(entry.parts, wastes, costs, strict=True):
        _book_part(batch, part, waste, cost, by)
    _share(batch, stage, used_amount(entry))
    _share(batch, None, wasted_amount(entry))
    return batch


def _book_part(
    batch: Batch, part: PartEntry, waste: Decimal, cost: int | None, by: User | None
) -> None:
    used = part.amount - waste
    place = str(batch.mixed_for.repair.member) if batch.mixed_for else ""
    lines = [
        Movement(
            lot=part.lot,
            kind=kind,
            amount=-amount,
            at=batch.mixed_at,
            entered_by=by,
            note=f"Batch for {place}"[:300],
        )
        for kind, amount in ((Movement.Kind.USED, used), (Movement.Kind.WASTED, waste))
        if amount
    ]
    for line in lines:
        checked(line).save(force_insert=True)
    kits = None if part.kit_fraction is None else part.kit_fraction.quantize(MILLIONTH)
    kept = BatchPart(
        batch=batch,
        lot=part.lot,
        part=part.part,
        amount=part.amount,
        kit_fraction=kits,
        cost_minor=cost,
        movement=lines[0],
        waste_movement=lines[1] if len(lines) > 1 else None,
    )
    checked(kept).save(force_insert=True)


def _share(batch: Batch, stage: Stage | None, amount: Decimal) -> None:
    if amount > 0:
        BatchShare.objects.create(batch=batch, stage=stage, amount=amount)


def take_from_earlier(entry: EarlierBatchEntry, stage: Stage) -> Batch:
    """Give a stage some of what is left of an earlier batch."""
    share = BatchShare.objects.filter(batch=entry.batch, stage=stage).first()
    if share is None:
        _share(entry.batch, stage, entry.amount)
    else:
        share.amount += entry.amount
        share.save(update_fields=["amount"])
    return entry.batch


def open_lots(days: Mapping[int, date]) -> None:
    """The first batch from a lot opens it, on the day given by the lot's key; a lot is not
    opened before it came. The rows are held in one order, so that no two savings wait for
    each other in a ring."""
    unopened = Lot.objects.filter(pk__in=days, opened_on__isnull=True).order_by("pk")
    held = unopened.select_for_update(of=("self",)).select_related("product")
    for lot in held.prefetch_related("product__sheets"):
        lot.opened_on = max(days[lot.pk], lot.received_on)
        lot.save(update_fields=["opened_on"])

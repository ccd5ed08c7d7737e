"""What cannot have happened in a stage or a batch."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal

from repairs.logbook.book_batch import mixed_amount, unplaced_amount, used_amount
from repairs.logbook.entry import BatchEntry, EarlierBatchEntry, StageEntry
from repairs.logbook.placed import PlacedRemark, Where
from repairs.models import Batch, Repair

from .stop import AHEAD, plain, stop, times

COLDEST_C, HOTTEST_C = -40, 100
# In grams or millilitres; a hundred tonnes are no batch.
MOST = Decimal(10) ** 8


def in_stage(index: int, stage: StageEntry, at: datetime) -> Iterator[PlacedRemark]:
    where = Where(index)
    yield from times(where, "The stage", stage.began_at, stage.ended_at, at)
    if stage.thickness_mm is not None and stage.thickness_mm <= 0:
        yield stop(
            where,
            "no-thickness",
            f"A layer of {stage.thickness_mm} mm.",
            "a layer is thicker than nothing",
            "Type the thickness, or leave it empty.",
        )
    yield from _weather(where, stage.air_c, stage.surface_c)
    for number, batch in enumerate(stage.batches):
        yield from _in_batch(Where(index, number), batch, at)
    for earlier in stage.earlier_batches:
        yield from _in_earlier(index, earlier)


def _in_earlier(index: int, earlier: EarlierBatchEntry) -> Iterator[PlacedRemark]:
    if not earlier.amount.is_finite() or earlier.amount <= 0:
        yield stop(
            Where(index),
            "nothing-taken",
            f"{earlier.amount} of an earlier batch.",
            "more than nothing",
            "Type how much was taken, or leave it out.",
        )
        return
    mixed_for = earlier.batch.mixed_for
    if mixed_for is not None and mixed_for.repair.state == Repair.State.WITHDRAWN:
        yield stop(
            Where(index),
            "batch-withdrawn",
            "The earlier batch belongs to a repair that was withdrawn.",
            "only what was really mixed can be taken",
            "Enter what was mixed as a batch of this stage.",
        )
    left = unplaced_amount(earlier.batch)
    if earlier.amount > left:
        yield more_than_is_left(index, earlier.batch, earlier.amount, left)


def _weather(where: Where, *temperatures: Decimal | None) -> Iterator[PlacedRemark]:
    for celsius in temperatures:
        if celsius is None or (celsius.is_finite() and COLDEST_C <= celsius <= HOTTEST_C):
            continue
        yield stop(
            where,
            "temperature",
            f"A temperature of {plain(celsius)} °C.",
            f"between {COLDEST_C} and {HOTTEST_C} °C",
            "Correct it, or leave it empty if it was not taken.",
        )


def more_than_is_left(stage: int, batch: Batch, amount: Decimal, left: Decimal) -> PlacedRemark:
    return stop(
        Where(stage),
        "more-than-is-left",
        f"{plain(amount)} taken of the {batch.sheet.product} mixed for another stage.",
        f"{plain(left)} of it was left over",
        "Type a smaller amount, or enter what was mixed as a batch of this stage.",
    )


def _in_batch(where: Where, batch: BatchEntry, at: datetime) -> Iterator[PlacedRemark]:
    yield from times(where, "The batch", batch.mixed_at, None, at)
    yield from _weather(where, batch.air_c, batch.surface_c)
    if batch.applied_at is not None and batch.applied_at < batch.mixed_at:
        yield stop(
            where,
            "applied-before-mixed",
            "It was used before it was mixed.",
            "used at or after the time of mixing",
            "Correct one of the two times.",
        )
    if batch.applied_at is not None and batch.applied_at > at + AHEAD:
        yield stop(
            where,
            "in-the-future",
            "The last of the batch was used in the future.",
            "only work that was done is logged",
            "Correct the day and the year.",
        )
    yield from _in_amounts(where, batch)


def _in_amounts(where: Where, batch: BatchEntry) -> Iterator[PlacedRemark]:
    amounts = [part.amount for part in batch.parts]
    if any(not amount.is_finite() or amount > MOST for amount in amounts):
        yield stop(
            where,
            "absurd-amount",
            "More than anybody can mix.",
            f"at most {MOST:,} g or ml",
            "Correct the amount and its unit.",
        )
        return
    if not amounts or any(amount <= 0 for amount in amounts):
        yield stop(
            where,
            "no-amount",
            "An amount of nothing or less.",
            "each amount is above zero",
            "Type what was weighed or measured.",
        )
        return
    if len({part.lot.unit for part in batch.parts}) > 1:
        yield stop(
            where,
            "units-differ",
            "One lot is kept in grams and another in millilitres.",
            "the parts of one batch are kept in one unit",
            "Pick lots that are kept in the same unit.",
        )
    if min(batch.waste or 0, batch.left_over or 0) < 0 or used_amount(batch) < 0:
        yield stop(
            where,
            "more-wasted-than-mixed",
            "What was wasted and left over is more than was mixed, or below zero.",
            f"{plain(mixed_amount(batch))} was mixed",
            "Correct the waste or what was left over.",
        )

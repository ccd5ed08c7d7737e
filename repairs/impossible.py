"""What cannot have happened. All else is recorded, with a remark where it is bad practice."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.core.exceptions import ValidationError

from repairs.batch_costs import priced_in
from repairs.book_batch import mixed_amount, unplaced_amount, used_amount
from repairs.cost_ledger import RateMissing
from repairs.entry import BatchEntry, CostEntry, LabourEntry, RepairEntry, StageEntry
from repairs.models import Batch, CostLine, Repair
from repairs.placed_remarks import PlacedRemark, Where, numbered, placed
from repairs.remarks import Remark

WHOLE = Where()
# A clock set for another zone is at most this far ahead of ours.
AHEAD = timedelta(days=1)
EARLIEST = date(1800, 1, 1)
COLDEST_C, HOTTEST_C = -40, 100


def impossible(entry: RepairEntry, at: datetime) -> tuple[PlacedRemark, ...]:
    return numbered(
        [
            *_in_the_whole(entry, at),
            *(
                stop
                for index, stage in enumerate(entry.stages)
                for stop in _in_stage(index, stage, at)
            ),
            *_in_the_money(entry),
        ]
    )


def _stop(where: Where, code: str, found: str, limit: str, advice: str) -> PlacedRemark:
    return placed(
        where,
        Remark(
            code=code,
            level="stop",
            found=found,
            limit=limit,
            source="what is possible",
            advice=advice,
            holds=False,
        ),
    )


def unsound(error: ValidationError) -> tuple[PlacedRemark, ...]:
    """Figures or words that do not fit where they are kept, found while saving."""
    return numbered(
        _stop(
            WHOLE,
            "does-not-fit",
            f"{name.replace('_', ' ').capitalize()}: {sentence}",
            "what can be kept",
            "Correct it and save again.",
        )
        for name, sentences in error.message_dict.items()
        for sentence in sentences
    )


def _in_the_whole(entry: RepairEntry, at: datetime) -> Iterator[PlacedRemark]:
    yield from _times(WHOLE, "The repair", entry.began_at, entry.ended_at, at)
    follows = entry.follows
    if entry.relation == Repair.Relation.FIRST and follows is not None:
        yield _stop(
            WHOLE,
            "first-follows",
            "A first repair that follows an earlier one.",
            "a first repair follows none",
            "Choose 'repeat' or 'redo', or leave the earlier repair out.",
        )
    if entry.relation != Repair.Relation.FIRST and follows is None:
        yield _stop(
            WHOLE,
            "follows-none",
            "A repeat or redo without the earlier repair.",
            "a repeat or redo names the repair that it follows",
            "Pick the earlier repair.",
        )
    if follows is not None and follows.member_id != entry.member.pk:
        yield _stop(
            WHOLE,
            "follows-elsewhere",
            "The earlier repair was on another member.",
            "a repair follows one on the same member",
            "Pick a repair of this member.",
        )
    if follows is not None and follows.state == Repair.State.WITHDRAWN:
        yield _stop(
            WHOLE,
            "follows-withdrawn",
            "The earlier repair was withdrawn.",
            "only a repair that was done can be followed",
            "Pick another earlier repair.",
        )
    if any(defect.member_id != entry.member.pk for defect in entry.defects):
        yield _stop(
            WHOLE,
            "defect-elsewhere",
            "One of the defects is on another member.",
            "a repair answers defects of its own member",
            "Pick defects of this member.",
        )


def _times(
    where: Where, name: str, began: datetime, ended: datetime | None, at: datetime
) -> Iterator[PlacedRemark]:
    if ended is not None and ended < began:
        yield _stop(
            where,
            "ends-before-it-begins",
            f"{name} ends before it begins.",
            "the end is at or after the beginning",
            "Correct one of the two times.",
        )
    if max(began, ended or began) > at + AHEAD:
        yield _stop(
            where,
            "in-the-future",
            f"{name} lies in the future.",
            "only work that was done is logged",
            "Correct the day and the year.",
        )
    if began.date() < EARLIEST:
        yield _stop(
            where,
            "too-long-ago",
            f"{name} began in {began.year}.",
            f"records begin in {EARLIEST.year}",
            "Correct the year.",
        )


def _in_stage(index: int, stage: StageEntry, at: datetime) -> Iterator[PlacedRemark]:
    where = Where(index)
    yield from _times(where, "The stage", stage.began_at, stage.ended_at, at)
    if stage.thickness_mm is not None and stage.thickness_mm <= 0:
        yield _stop(
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
        if earlier.amount <= 0:
            yield _stop(
                where,
                "nothing-taken",
                f"{earlier.amount} of an earlier batch.",
                "more than nothing",
                "Type how much was taken, or leave it out.",
            )
            continue
        left = unplaced_amount(earlier.batch)
        if earlier.amount > left:
            yield more_than_is_left(index, earlier.batch, earlier.amount, left)


def _weather(where: Where, *temperatures: Decimal | None) -> Iterator[PlacedRemark]:
    for celsius in temperatures:
        if celsius is not None and not COLDEST_C <= celsius <= HOTTEST_C:
            yield _stop(
                where,
                "temperature",
                f"A temperature of {_plain(celsius)} °C.",
                f"between {COLDEST_C} and {HOTTEST_C} °C",
                "Correct it, or leave it empty if it was not taken.",
            )


def more_than_is_left(stage: int, batch: Batch, amount: Decimal, left: Decimal) -> PlacedRemark:
    return _stop(
        Where(stage),
        f"more-than-is-left-{batch.pk}",
        f"{_plain(amount)} taken of the {batch.sheet.product} mixed for another stage.",
        f"{_plain(left)} of it was left over",
        "Type a smaller amount, or enter what was mixed as a batch of this stage.",
    )


def _in_batch(where: Where, batch: BatchEntry, at: datetime) -> Iterator[PlacedRemark]:
    yield from _times(where, "The batch", batch.mixed_at, None, at)
    yield from _weather(where, batch.air_c, batch.surface_c)
    if batch.applied_at is not None and batch.applied_at < batch.mixed_at:
        yield _stop(
            where,
            "applied-before-mixed",
            "It was used before it was mixed.",
            "used at or after the time of mixing",
            "Correct one of the two times.",
        )
    if not batch.parts or any(part.amount <= 0 for part in batch.parts):
        yield _stop(
            where,
            "no-amount",
            "An amount of nothing or less.",
            "each amount is above zero",
            "Type what was weighed or measured.",
        )
        return
    if len({part.lot.unit for part in batch.parts}) > 1:
        yield _stop(
            where,
            "units-differ",
            "One lot is kept in grams and another in millilitres.",
            "the parts of one batch are kept in one unit",
            "Pick lots that are kept in the same unit.",
        )
    if min(batch.waste or 0, batch.left_over or 0) < 0 or used_amount(batch) < 0:
        yield _stop(
            where,
            "more-wasted-than-mixed",
            "What was wasted and left over is more than was mixed, or below zero.",
            f"{_plain(mixed_amount(batch))} was mixed",
            "Correct the waste or what was left over.",
        )


def _in_the_money(entry: RepairEntry) -> Iterator[PlacedRemark]:
    for labour in entry.labour:
        yield from _in_labour(labour)
    for cost in entry.costs:
        yield from _in_cost(cost)
    home = entry.member.building.property.currency
    for currency in sorted(_currencies(entry) - {home}):
        rate = entry.rates.get(currency)
        if rate is None or not rate.is_finite() or rate <= 0:
            missing = RateMissing(currency, home, entry.began_at.date())
            yield _stop(
                WHOLE,
                f"rate-{currency.lower()}",
                str(missing),
                "a total over currencies needs the rate of the day",
                f"Type the rate of {currency} on that day.",
            )


def _in_labour(labour: LabourEntry) -> Iterator[PlacedRemark]:
    if labour.hours <= 0 or (labour.rate_minor or 0) < 0:
        yield _stop(
            WHOLE,
            "no-hours",
            f"{_plain(labour.hours)} hours of labour.",
            "hours are above zero and a rate is not below it",
            "Type the hours worked, or leave the line empty.",
        )


def _in_cost(cost: CostEntry) -> Iterator[PlacedRemark]:
    if (cost.amount_minor < 0) != (cost.kind == CostLine.Kind.CREDIT) or cost.amount_minor == 0:
        yield _stop(
            WHOLE,
            "cost-sign",
            f"“{cost.description}” is an amount of the wrong sign.",
            "a cost is above zero, a credit below",
            "Type the amount above zero, or choose 'credit' for money back.",
        )


def _currencies(entry: RepairEntry) -> set[str]:
    """The currencies of money that this entry will write down."""
    money = {cost.currency for cost in entry.costs}
    for stage in entry.stages:
        money |= {priced_in(part.lot) for batch in stage.batches for part in batch.parts}
        money |= {
            priced_in(part.lot)
            for taken in stage.earlier_batches
            for part in taken.batch.parts.all()
        }
    return money - {""}


def _plain(amount: Decimal) -> str:
    return f"{amount.normalize():f}" if amount else "0"

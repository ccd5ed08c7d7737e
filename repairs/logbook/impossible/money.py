"""What cannot have been paid."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from repairs.costs.ledger import RateMissing
from repairs.logbook.batch_costs import priced_in
from repairs.logbook.entry import CostEntry, LabourEntry, RepairEntry
from repairs.logbook.placed import PlacedRemark
from repairs.models import CostLine

from .stop import EARLIEST, WHOLE, plain, stop

INVOICED_AHEAD = timedelta(days=366)


def in_the_money(entry: RepairEntry, at: datetime) -> Iterator[PlacedRemark]:
    for labour in entry.labour:
        yield from _in_labour(labour)
    for cost in entry.costs:
        yield from _in_cost(cost, at)
    of = entry.member.building.property
    home = of.currency
    for currency in sorted(_currencies(entry) - {home}):
        rate = entry.rates.get(currency)
        if rate is None or not rate.is_finite() or rate <= 0:
            missing = RateMissing(currency, home, of.day_of(entry.began_at))
            yield stop(
                WHOLE,
                f"rate-{currency.lower()}",
                str(missing),
                "a total over currencies needs the rate of the day",
                f"Type the rate of {currency} on that day.",
            )


def _in_labour(labour: LabourEntry) -> Iterator[PlacedRemark]:
    if labour.hours <= 0 or (labour.rate_minor or 0) < 0:
        yield stop(
            WHOLE,
            "no-hours",
            f"{plain(labour.hours)} hours of labour.",
            "hours are above zero and a rate is not below it",
            "Type the hours worked, or leave the line empty.",
        )


def _in_cost(cost: CostEntry, at: datetime) -> Iterator[PlacedRemark]:
    if (cost.amount_minor < 0) != (cost.kind == CostLine.Kind.CREDIT) or cost.amount_minor == 0:
        yield stop(
            WHOLE,
            "cost-sign",
            f"“{cost.description}” is an amount of the wrong sign.",
            "a cost is above zero, a credit below",
            "Type the amount above zero, or choose 'credit' for money back.",
        )

    day = cost.invoiced_on
    if day is not None and not EARLIEST <= day <= at.date() + INVOICED_AHEAD:
        yield stop(
            WHOLE,
            "invoice-day",
            f"“{cost.description}” was invoiced on {day:%-d %B %Y}.",
            f"from {EARLIEST.year} to a year from now",
            "Correct the day of the invoice.",
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

"""What the stores give for a need, and what is to be bought. Amounts are Decimal, all of one part
in one unit (g or ml); days are local dates."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from config.figures import Formula
from materials.shelf_life import last_usable_day

DRAWS = Formula(
    words="From the lots that are released and not past their last day on the day of the work, "
    "the one that expires soonest first.",
    symbols="need − Σ drawn = short, for each part",
    source="ledger of the stores",
)
PURCHASE = Formula(
    words="As many whole kits as cover the part of which most is short; the rest of them is left.",
    symbols="kits = max over parts of ⌈short / in a kit⌉, left = kits × in a kit − short",
    source="what the kit holds and its list price, as kept with the product",
    holds="the last day counts from the day of buying and the sheet's shelf life unopened",
)


@dataclass(frozen=True)
class OnHand:
    """A released lot: its key, its part (`a`, `b` or `one`), what it holds, its last usable day."""

    key: int
    part: str
    amount: Decimal
    last_day: date | None = None


@dataclass(frozen=True)
class Drawn:
    """Taken from one lot, and what then is left in it."""

    key: int
    part: str
    amount: Decimal
    left: Decimal


@dataclass(frozen=True)
class Draws:
    """`short` names only the parts that the lots do not cover."""

    drawn: tuple[Drawn, ...]
    short: Mapping[str, Decimal]


@dataclass(frozen=True)
class Purchase:
    """Whole kits. `left` is what remains of them after the shortage is covered."""

    kits: int
    bought: Mapping[str, Decimal]
    left: Mapping[str, Decimal]
    left_until: date | None
    cost_minor: int | None


def draw(need: Mapping[str, Decimal], on_hand: Iterable[OnHand], on: date) -> Draws:
    """Takes each part from the lots, soonest expiry first; those without an expiry come last.

    A lot is good on its last day and left out after it; one that holds nothing, or less by the
    ledger, gives nothing. Needs are zero or more, else ValueError."""
    _not_negative(need)
    still = dict(need)
    drawn = []
    usable = (lot for lot in on_hand if lot.last_day is None or lot.last_day >= on)
    for lot in sorted(usable, key=lambda lot: (lot.last_day or date.max, lot.key)):
        taken = min(still.get(lot.part, Decimal(0)), lot.amount)
        if taken > 0:
            still[lot.part] -= taken
            drawn.append(Drawn(lot.key, lot.part, taken, lot.amount - taken))
    return Draws(tuple(drawn), {part: amount for part, amount in still.items() if amount > 0})


def to_buy(
    short: Mapping[str, Decimal],
    kit: Mapping[str, Decimal],
    price_minor: int | None,
    *,
    bought_on: date,
    shelf_months: int | None,
) -> Purchase:
    """The whole kits that cover a shortage, what will be left of them and until when.

    `price_minor` is that of one kit; None stays not known. Raises ValueError for a part that the
    kit does not hold, or a shortage below zero."""
    _not_negative(short)
    kits = 0
    for part, amount in short.items():
        holds = kit.get(part, Decimal(0))
        if amount > 0 and holds <= 0:
            raise ValueError(f"The kit does not say how much it holds of {_NAMES.get(part, part)}.")
        if amount > 0:
            kits = max(kits, math.ceil(Fraction(amount) / Fraction(holds)))
    bought = {part: holds * kits for part, holds in kit.items()}
    left = {part: amount - short.get(part, Decimal(0)) for part, amount in bought.items()}
    cost = None if price_minor is None else price_minor * kits
    return Purchase(kits, bought, left, _until(kits, bought_on, shelf_months), cost)


_NAMES = {"a": "A", "b": "B", "one": "the one part"}


def _until(kits: int, bought_on: date, shelf_months: int | None) -> date | None:
    if kits == 0:
        return None
    return last_usable_day(
        printed_expiry=None,
        made_on=None,
        received_on=bought_on,
        opened_on=None,
        unopened_months=shelf_months,
        opened_months=None,
    ).day


def _not_negative(amounts: Mapping[str, Decimal]) -> None:
    if any(not amount.is_finite() or amount < 0 for amount in amounts.values()):
        raise ValueError("An amount is zero or more.")

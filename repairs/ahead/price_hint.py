"""How prices rose of late, as the kept index says: a suggestion that a person may take over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from config.figures import Figure, Formula, figure
from repairs.ahead.money import LEAST_RISE_PCT, MOST_RISE_PCT

SPAN = 10
MEAN_RISE = Formula(
    "The tenth root of the newest index divided by that of ten years before, less one.",
    "e = (index(newest) / index(newest − 10))^(1/10) − 1",
    "the geometric mean of ten yearly rises",
    "for years that the index has a figure for; what was is no promise of what will be",
)


@dataclass(frozen=True)
class PriceHint:
    """`rise_pct` is in percent a year, to one digit after the point."""

    rise_pct: Decimal
    words: str
    figure: Figure


def price_hint(currency: str, index: Mapping[int, Decimal]) -> PriceHint | None:
    """None where the index has not both years, or rose further than may be asked for."""
    newest = max(index, default=0)
    before = newest - SPAN
    if before not in index:
        return None
    rise = (index[newest] / index[before]) ** (Decimal(1) / SPAN) - 1
    percent = (100 * rise).quantize(Decimal("0.1"), ROUND_HALF_UP)
    if not LEAST_RISE_PCT <= percent <= MOST_RISE_PCT:
        return None
    shown = f"{percent} %".replace("-", "−")
    told = figure(
        f"Rise of prices, {currency}", shown, MEAN_RISE,
        (f"Index of {before}", f"{index[before].normalize():f}"),
        (f"Index of {newest}", f"{index[newest].normalize():f}"),
    )  # fmt: skip
    words = f"By the price index kept for {currency}, prices rose from {before} to {newest} by"
    return PriceHint(percent, words, told)

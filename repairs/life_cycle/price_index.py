"""Money of an earlier year in the money of another, by a price index that the user keeps."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from config.figures import Formula
from materials.money import round_minor

IN_TODAYS_MONEY = Formula(
    "The amount times the price index of the later year, divided by that of the year it was paid.",
    "amount · index(now) / index(then)",
    "definition of a price index; NIST Handbook 135, chapter 3",
    "for years that the index has a figure for",
)


class YearMissing(ValueError):
    """A year that the index has no figure for; the nearest is never taken in its place."""

    def __init__(self, years: tuple[int, ...]) -> None:
        self.years = years
        named = " and ".join(str(year) for year in years)
        super().__init__(
            f"The price index has no figure for {named}. Add it to the index; "
            "a figure of another year is not taken in its place."
        )


def in_todays_money(amount: Decimal, year: int, now: int, index: Mapping[int, Decimal]) -> Decimal:
    """An amount paid in `year`, in the money of the year `now`; not rounded.

    `index` holds a figure above zero for each year, on any base. YearMissing where one of the two
    years has none; ValueError for an amount or a figure that cannot be right."""
    missing = tuple(sorted({each for each in (year, now) if each not in index}))
    if missing:
        raise YearMissing(missing)
    if not amount.is_finite():
        raise ValueError("An amount of money is a number.")
    then, later = index[year], index[now]
    if not (then.is_finite() and later.is_finite() and then > 0 and later > 0):
        raise ValueError("The figures of a price index are above zero.")
    return amount if year == now else amount * later / then


def newest_year(index: Mapping[int, Decimal], today: int) -> int | None:
    """The last year up to this one that the index has; None where it has none."""
    return max((year for year in index if year <= today), default=None)


def todays_minor(minor: int, year: int, today: int, index: Mapping[int, Decimal]) -> int:
    """Minor units paid in `year`, in the money of the newest year of the index up to the year
    `today`; what was paid in that year itself is in its money already. YearMissing where the
    index does not reach."""
    if year == today:
        return minor
    newest = newest_year(index, today)
    if newest is None:
        raise YearMissing((year,))
    return round_minor(Fraction(in_todays_money(Decimal(minor), year, newest, index)))

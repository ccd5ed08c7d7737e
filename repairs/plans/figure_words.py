"""How the figures of a plan are written for one reader."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from config.figures import Figure
from config.measured_words import in_units
from config.quantities import Quantity, UnitSystem, show, show_duration
from materials.money import show_money
from repairs.remarks.words import instant, number

KINDS = {"g": Quantity.MASS, "ml": Quantity.VOLUME}
NOT_KNOWN = "not known"
MM2_IN_IN2 = Decimal("645.16")
TENTH_OF_AN_OUNCE_G = Decimal("2.84")
# Below a tenth of a square metre, about a square foot.
SMALL_MM2 = Decimal(100_000)
FT2_PER_GAL_IN_M2_PER_L = Decimal("3.785411784") / Decimal("0.09290304")


@dataclass(frozen=True)
class Words:
    """Stored figures in the reader's units, money in the property's currency."""

    units: UnitSystem | str
    currency: str

    def amount(self, figure: Decimal | None, unit: str) -> str:
        return self.quantity(figure, KINDS[unit])

    def weighed(self, figure: Decimal | None, unit: str) -> str:
        """In grams also for a reader of ounces, since scales on site read grams."""
        if figure is None or unit != "g" or self.units != UnitSystem.US:
            return self.amount(figure, unit)
        grams = show(figure, Quantity.MASS, UnitSystem.METRIC)
        digits = 2 if figure >= TENTH_OF_AN_OUNCE_G else None
        return f"{grams} ({show(figure, KINDS[unit], self.units, digits)})"

    def mass(self, grams: float | None) -> str:
        return self.quantity(grams, Quantity.MASS)

    def length(self, millimetres: Decimal | float | None) -> str:
        return self.quantity(millimetres, Quantity.LENGTH)

    def area(self, mm2: Decimal | None) -> str:
        """Of the size of a cavity in square inches or centimetres, as it was measured."""
        us = self.units == UnitSystem.US
        small, unit = (MM2_IN_IN2, "in²") if us else (Decimal(100), "cm²")
        if mm2 is not None and 0 < mm2 < SMALL_MM2:
            return f"{number(mm2 / small)} {unit}"
        return self.quantity(None if mm2 is None else mm2 / 1_000_000, Quantity.AREA)

    def coverage(self, m2_per_l: Decimal | None) -> str:
        if m2_per_l is None:
            return "not told by the sheet"
        if self.units == UnitSystem.US:
            return f"{m2_per_l * FT2_PER_GAL_IN_M2_PER_L:.0f} ft² a US gallon"
        return f"{m2_per_l.normalize():f} m² a litre"

    def heat(self, celsius: Decimal | float | None) -> str:
        if celsius is None:
            return NOT_KNOWN
        return show(Decimal(str(celsius)), Quantity.TEMPERATURE, self.units, 1)

    def kelvin(self, difference: Decimal) -> str:
        """A difference of temperatures, which has no zero to shift."""
        return self.sentence(f"{number(difference)} K")

    def density(self, g_ml: Decimal | None) -> str:
        return self.quantity(g_ml, Quantity.DENSITY)

    def quantity(self, figure: Decimal | float | None, kind: Quantity) -> str:
        return NOT_KNOWN if figure is None else show(Decimal(str(figure)), kind, self.units)

    def money(self, minor: int | None) -> str:
        return NOT_KNOWN if minor is None else show_money(minor, self.currency)

    def sentence(self, text: str) -> str:
        return in_units(text, self.units)


def span(time: timedelta | None) -> str:
    """To the minute."""
    if time is None:
        return NOT_KNOWN
    return show_duration(timedelta(minutes=round(time / timedelta(minutes=1))))


def moment(at: datetime | None) -> str:
    return NOT_KNOWN if at is None else instant(at)


def percent(fraction: Decimal | float) -> str:
    return f"{number(Decimal(str(fraction)) * 100)} %"


def told(name: str, sentence: str) -> Figure:
    """In place of a number: the remark that says why there is none."""
    return Figure(value=sentence, name=name)

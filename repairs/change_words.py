"""A kept value of any column in words, with its unit and by the clock of the property."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from decimal import Decimal
from typing import Any

from django.db import models
from django.utils.formats import date_format

from config.quantities import Quantity, UnitSystem, show, show_duration
from materials.money import show_money

NOT_RECORDED = "not recorded"
BY_ENDING = {
    "mm": Quantity.LENGTH,
    "g": Quantity.MASS,
    "ml": Quantity.VOLUME,
    "c": Quantity.TEMPERATURE,
    "m2": Quantity.AREA,
}
SIGNS = {"pct": " %", "m": " m", "deg": "°", "days": " days"}


@dataclass(frozen=True)
class Reader:
    """By which clock, in which units and in which money the values are told."""

    zone: tzinfo = UTC
    zone_name: str = "UTC"
    system: UnitSystem = UnitSystem.METRIC
    currency: str = ""

    def say(self, field: models.Field[Any, Any], value: Any, version: Any) -> str:
        if value is None or value == "":
            return NOT_RECORDED
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, list):
            return ", ".join(str(item) for item in value) or "none"
        if isinstance(value, date | timedelta):
            return self._time(value)
        if isinstance(value, int | Decimal) and not field.flatchoices:
            return self._figure(field.name, value, getattr(version, "currency", self.currency))
        return str(dict(field.flatchoices).get(value, value))

    def _time(self, value: date | timedelta) -> str:
        if isinstance(value, timedelta):
            return show_duration(value)
        if isinstance(value, datetime):
            return date_format(value.astimezone(self.zone), "j F Y, H:i")
        return date_format(value, "j F Y")

    def _figure(self, name: str, value: int | Decimal, currency: str) -> str:
        ending = name.rpartition("_")[2]
        if ending == "minor" and currency:
            return show_money(int(value), currency)
        if name != ending and ending in BY_ENDING:
            return show(Decimal(value), BY_ENDING[ending], self.system)
        plain = f"{Decimal(value).normalize():f}"
        return plain + SIGNS.get(ending, "") if name != ending else plain

"""Filters that show figures in the reader's units, and say so when a figure is not known.

They are built into every template: `{{ stage.thickness_mm|as_length:property.unit_system }}`."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

from django import template
from django.utils import timezone
from django.utils.formats import date_format

from config.quantities import Quantity, UnitSystem, show, show_duration

NOT_RECORDED = "not recorded"
Figure = Decimal | int | float | str | None
register = template.Library()
MEASURED = re.compile(r"(?<![\w.,])(−?\d[\d,]*(?:\.\d+)?) (°C|mm)(?![\w-])(?=( above| below)?)")


@register.filter
def or_not_recorded(value: object) -> object:
    """The value itself, also 0 and False; "not recorded" for None and for empty text."""
    return NOT_RECORDED if value is None or value == "" else value


def _shows(kind: Quantity) -> Callable[[Figure, str], str]:
    def shown(value: Figure, system: str = UnitSystem.METRIC) -> str:
        if value is None or value == "":
            return NOT_RECORDED
        return show(Decimal(str(value)), kind, system)

    return shown


register.filter("as_length", _shows(Quantity.LENGTH))
register.filter("as_area", _shows(Quantity.AREA))
register.filter("as_mass", _shows(Quantity.MASS))
register.filter("as_volume", _shows(Quantity.VOLUME))
register.filter("as_temperature", _shows(Quantity.TEMPERATURE))
register.filter("as_density", _shows(Quantity.DENSITY))


@register.filter
def in_units(text: str, system: str = UnitSystem.METRIC) -> str:
    """A sentence with its °C and mm in the reader's units; the record stays metric. So many
    degrees above or below another temperature are a difference, which has no zero to shift."""
    return MEASURED.sub(_shown_as, text) if system == UnitSystem.US else text


def _shown_as(found: re.Match[str]) -> str:
    value = Decimal(found[1].replace("−", "-").replace(",", ""))
    if found[2] == "mm":
        return show(value, Quantity.LENGTH, UnitSystem.US)
    if found[3]:
        return f"{(value * 9 / 5).quantize(Decimal('0.1'), ROUND_HALF_UP).normalize():f} °F"
    return show(value, Quantity.TEMPERATURE, UnitSystem.US, 1)


@register.filter
def as_duration(value: timedelta | str | None) -> str:
    return show_duration(value) if isinstance(value, timedelta) else NOT_RECORDED


@register.filter
def as_percent(value: Figure) -> str:
    """`13 %`, to one decimal at most."""
    if value is None or value == "":
        return NOT_RECORDED
    rounded = Decimal(str(value)).quantize(Decimal("0.1"), ROUND_HALF_UP)
    return f"{rounded} %".replace(".0 ", " ").replace("-", "−")


@register.filter
def in_zone(when: datetime | None, zone: str | ZoneInfo = "UTC") -> str:
    """`28 March 2026, 22:30`, as a clock in that zone showed it."""
    if not when:
        return NOT_RECORDED
    return date_format(timezone.localtime(when, _zone(zone)), "j F Y, H:i")


@register.filter
def as_day(when: date | datetime | None, zone: str | ZoneInfo = "UTC") -> str:
    """`3 May 2026`; of an instant, the day in that zone."""
    if not when:
        return NOT_RECORDED
    if isinstance(when, datetime) and timezone.is_aware(when):
        when = timezone.localtime(when, _zone(zone))
    return date_format(when, "j F Y")


def _zone(zone: str | ZoneInfo) -> ZoneInfo:
    return zone if isinstance(zone, ZoneInfo) else ZoneInfo(zone or "UTC")

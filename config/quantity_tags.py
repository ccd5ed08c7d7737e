"""Filters that show figures in the reader's units, and say so when a figure is not known.

They are built into every template: `{{ stage.thickness_mm|as_length:property.unit_system }}`."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

from django import template
from django.conf import settings
from django.utils import timezone
from django.utils.formats import date_format

from config.measured_words import in_units
from config.quantities import Quantity, UnitSystem, show, show_duration

NOT_RECORDED = "not recorded"
Figure = Decimal | int | float | str | None
register = template.Library()


@register.filter
def or_not_recorded(value: object) -> object:
    """The value itself, also 0 and False; "not recorded" for None and for empty text."""
    return NOT_RECORDED if value is None or value == "" else value


def _shows(kind: Quantity, digits: int | None = None) -> Callable[[Figure, str], str]:
    def shown(value: Figure, system: str = UnitSystem.METRIC) -> str:
        if value is None or value == "":
            return NOT_RECORDED
        return show(Decimal(str(value)), kind, system, digits)

    return shown


register.filter("as_length", _shows(Quantity.LENGTH))
register.filter("as_area", _shows(Quantity.AREA))
register.filter("as_mass", _shows(Quantity.MASS))
register.filter("as_volume", _shows(Quantity.VOLUME))
register.filter("as_temperature", _shows(Quantity.TEMPERATURE, 1))
register.filter("as_density", _shows(Quantity.DENSITY))


register.filter("in_units", in_units)


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
def in_zone(when: datetime | None, zone: str | ZoneInfo = "") -> str:
    """`28 March 2026, 22:30`, as a clock in that zone, or else the installation's, showed it."""
    if not when:
        return NOT_RECORDED
    return date_format(timezone.localtime(when, _zone(zone)), "j F Y, H:i")


@register.filter
def as_day(when: date | datetime | None, zone: str | ZoneInfo = "") -> str:
    """`3 May 2026`; of an instant, the day in that zone, or else in the installation's."""
    if not when:
        return NOT_RECORDED
    if isinstance(when, datetime) and timezone.is_aware(when):
        when = timezone.localtime(when, _zone(zone))
    return date_format(when, "j F Y")


def _zone(zone: str | ZoneInfo) -> ZoneInfo:
    return zone if isinstance(zone, ZoneInfo) else ZoneInfo(zone or settings.TIME_ZONE)

"""Figures as remarks say them: metric, rounded, with their units."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal

PARTS = {"a": "A", "b": "B", "one": "the one part"}
STAGES = {
    "open_up": "Opening up",
    "dry": "Drying",
    "treat": "Treating",
    "seal": "Sealing",
    "fill": "Filling",
    "shape": "Shaping",
    "prime": "Priming",
    "paint": "Painting",
}


def number(value: Decimal, places: str = "0.1") -> str:
    """Rounded half up to the places of a pattern, without trailing zeros."""
    rounded = value.quantize(Decimal(places), ROUND_HALF_UP)
    return f"{rounded.normalize():f}".replace("-", "−") if rounded else "0"


def amount(value: Decimal, unit: str) -> str:
    if value >= 1000:
        return f"{number(value / 1000, '0.01')} {'kg' if unit == 'g' else 'l'}"
    return f"{number(value)} {unit}"


def degrees(value: Decimal) -> str:
    return f"{number(value)} °C"


def percent(fraction: Decimal) -> str:
    """0.05 as '5 %'."""
    return f"{number(fraction * 100)} %"


def day(value: date) -> str:
    return f"{value.day} {value:%B %Y}"


def instant(value: datetime) -> str:
    """By the clock of the zone that it carries."""
    return f"{day(value)}, {value:%H:%M}"


def span(value: timedelta) -> str:
    """Days above two, hours above two, else minutes."""
    minutes = round(value / timedelta(minutes=1))
    if minutes < 120:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{number(Decimal(minutes) / 60)} h"
    return f"{number(Decimal(minutes) / 60 / 24)} days"


def short(text: str, length: int = 60) -> str:
    """A name that a person typed, cut so that the sentence stays readable."""
    return text if len(text) <= length else f"{text[: length - 1]}…"


def stage(kind: str) -> str:
    return STAGES.get(kind, kind)

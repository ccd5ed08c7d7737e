"""Sentences that hold measured figures, told in the reader's units."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal

from config.quantities import Quantity, UnitSystem, show

MEASURED = re.compile(r"(?<![\w.,])(−?\d[\d,]*(?:\.\d+)?) (°C|mm|K)(?![\w-])(?=( above| below)?)")


def in_units(text: str, system: str = UnitSystem.METRIC) -> str:
    """A sentence with its °C and mm in the reader's units; the record stays metric. So many
    degrees above or below another temperature are a difference, which has no zero to shift."""
    return MEASURED.sub(_shown_as, text) if system == UnitSystem.US else text


def _shown_as(found: re.Match[str]) -> str:
    value = Decimal(found[1].replace("−", "-").replace(",", ""))
    if found[2] == "mm":
        return show(value, Quantity.LENGTH, UnitSystem.US)
    if found[3] or found[2] == "K":
        return f"{(value * 9 / 5).quantize(Decimal('0.1'), ROUND_HALF_UP).normalize():f} °F"
    return show(value, Quantity.TEMPERATURE, UnitSystem.US, 1)

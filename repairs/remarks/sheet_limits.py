"""What a data sheet allows, or what usually holds where it is silent, and who says so; asked when
work is judged and when it is planned. What the weather must keep is in `weather_rules`."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from .facts import SheetFacts
from .limits import DEFAULT_LIMITS


def ratio_tolerance(sheet: SheetFacts) -> Decimal:
    """How far the ratio may be off, as a fraction; 0 where the sheet says so."""
    pct = sheet.ratio_tolerance_pct
    return (DEFAULT_LIMITS["ratio_tolerance_pct"].value if pct is None else pct) / 100


def thickest_layer(sheet: SheetFacts) -> tuple[Decimal | None, str]:
    """The greatest layer at once in mm; of a filler that gives none, the usual one."""
    if sheet.layer_max_mm is not None:
        return sheet.layer_max_mm, sheet.source
    if sheet.kind == "filler":
        usual = DEFAULT_LIMITS["filler_layer_max_mm"]
        return usual.value, usual.source
    return None, ""


def wettest_wood(sheets: Iterable[SheetFacts]) -> tuple[Decimal, str]:
    """The wood moisture in % that the strictest of the sheets allows; with none, the usual one."""
    told = [
        (sheet.wood_moisture_max_pct, sheet.source)
        for sheet in sheets
        if sheet.wood_moisture_max_pct is not None
    ]
    usual = DEFAULT_LIMITS["moisture_flag_pct"]
    return min(told, default=(usual.value, usual.source), key=lambda each: each[0])

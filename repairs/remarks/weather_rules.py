"""The rules for the weather, the same for a batch and for a stage."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from properties.climate import DEW_MARGIN_K, DEW_MARGIN_SOURCE, dew_margin

from .facts import SheetFacts
from .limits import DEFAULT_LIMITS
from .remark import Level, Remark
from .words import degrees, number, short


def too_cold(
    sheets: Sequence[SheetFacts], air_c: Decimal | None, surface_c: Decimal | None
) -> list[Remark]:
    """Below the sheet's lowest temperature; a note below the usual one if the sheet has none."""
    reading, name = _reading(air_c, surface_c)
    if reading is None:
        return []
    found = []
    for sheet in sheets:
        limit, source, level = _lowest(sheet)
        if limit is None or reading >= limit:
            continue
        found.append(
            Remark(
                "too-cold",
                level,
                f"{name} {degrees(reading)}: too cold.",
                f"{short(sheet.product)} from {degrees(limit)} up",
                source,
                "In the cold it cures late or not at all, and the surface may turn greasy. Warm "
                "the work and keep it warm; before the next coat try a thumbnail on it, wash and "
                "abrade.",
                about=sheet.product,
                holds=level == "warning",
            )
        )
    return found


def too_hot(
    sheets: Sequence[SheetFacts], air_c: Decimal | None, surface_c: Decimal | None
) -> list[Remark]:
    """Above the sheet's highest temperature."""
    reading, name = _reading(air_c, surface_c)
    if reading is None:
        return []
    return [
        Remark(
            "too-hot",
            "warning",
            f"{name} {degrees(reading)}: too hot.",
            f"{short(sheet.product)} up to {degrees(sheet.apply_max_c)}",
            sheet.source,
            "It goes off sooner, and warm wood breathes bubbles into it. Work in shade, and look "
            "for bubbles and bare edges once it is hard.",
            about=sheet.product,
        )
        for sheet in sheets
        if sheet.apply_max_c is not None and reading > sheet.apply_max_c
    ]


def near_dew_point(
    air_c: Decimal | None, humidity_pct: Decimal | None, surface_c: Decimal | None
) -> list[Remark]:
    """The surface less than 3 °C above the dew point of the air."""
    if air_c is None or humidity_pct is None or surface_c is None:
        return []
    try:
        dew = dew_margin(air_c, humidity_pct, surface_c)
    except ValueError as error:
        return [
            Remark(
                "dew-not-judged",
                "note",
                f"Air {degrees(air_c)} and {number(humidity_pct)} %: the dew point is not judged.",
                str(error),
                "range of the Magnus formula",
                "Look at the two figures again.",
            )
        ]
    if dew.enough:
        return []
    side = "above" if dew.margin_k >= 0 else "below"
    margin = degrees(Decimal(abs(dew.margin_k)))
    return [
        Remark(
            "near-dew-point",
            "warning",
            f"Surface {degrees(surface_c)}, {margin} {side} the dew point of "
            f"{degrees(Decimal(dew.dew_point_c))} "
            f"(air {degrees(air_c)}, {number(humidity_pct)} %).",
            f"at least {DEW_MARGIN_K:g} °C above, here {degrees(Decimal(dew.least_surface_c))}",
            DEW_MARGIN_SOURCE,
            "Wait, or warm the surface, until it stands clear of the dew. If it is done: look for "
            "a white or greasy film, then wash, dry and abrade.",
            holds=True,
        )
    ]


def _reading(air_c: Decimal | None, surface_c: Decimal | None) -> tuple[Decimal | None, str]:
    return (surface_c, "Surface") if surface_c is not None else (air_c, "Air")


def _lowest(sheet: SheetFacts) -> tuple[Decimal | None, str, Level]:
    if sheet.apply_min_c is not None:
        return sheet.apply_min_c, sheet.source, "warning"
    name = "resin_min_c" if sheet.is_resin else "coating_min_c" if sheet.is_coating else ""
    if not name:
        return None, "", "note"
    return DEFAULT_LIMITS[name].value, DEFAULT_LIMITS[name].source, "note"

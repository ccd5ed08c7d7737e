"""The rules for the weather, the same for a batch and for a stage."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from properties.climate import DEW_MARGIN_K, DEW_MARGIN_SOURCE, dew_margin

from .facts import SheetFacts
from .limits import DEFAULT_LIMITS
from .remark import Level, Remark
from .words import degrees, number, short

LAID_ON = frozenset({"treat", "seal", "fill", "prime", "paint"})


def too_cold(
    sheets: Sequence[SheetFacts], air_c: Decimal | None, surface_c: Decimal | None
) -> list[Remark]:
    """Below the sheet's lowest temperature; a note below the usual one if the sheet has none."""
    reading, name = _reading(air_c, surface_c)
    if reading is None:
        return []
    found = []
    for sheet in sheets:
        limit, source, level = lowest_c(sheet)
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


def too_humid(sheets: Sequence[SheetFacts], humidity_pct: Decimal | None) -> list[Remark]:
    """Air too humid for a coating."""
    limit = DEFAULT_LIMITS["coating_humidity_max_pct"]
    coats = [sheet for sheet in sheets if sheet.is_coating]
    if humidity_pct is None or not coats or humidity_pct <= limit.value:
        return []
    return [
        Remark(
            "too-humid",
            "warning",
            f"Humidity {number(humidity_pct)} %.",
            f"at most {number(limit.value)} %, unless the sheet says otherwise",
            limit.source,
            "Paint dries late in it and may turn dull or spotted. Wait for drier air; if it is "
            "done, look at it once it is dry.",
        )
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


def night_least_c(sheet: SheetFacts) -> tuple[Decimal | None, str]:
    """What the air must keep for 24 hours after a coating, and who says so; None for a resin,
    which only cures later."""
    if not sheet.is_coating:
        return None, ""
    if sheet.apply_min_c is not None:
        return sheet.apply_min_c, sheet.source
    usual = DEFAULT_LIMITS["coating_night_min_c"]
    return usual.value, usual.source


def too_cold_a_night(sheets: Sequence[SheetFacts], night_low_c: Decimal | None) -> list[Remark]:
    """A coating in whose first 24 hours the air falls below what it needs."""
    if night_low_c is None:
        return []
    return [
        Remark(
            "cold-night",
            "warning",
            f"Night low of {degrees(night_low_c)} to come: too cold for {short(sheet.product)}.",
            f"at least {degrees(least)} for 24 h",
            source,
            "Wait for warmer nights, or begin early and keep it warm. If it is done: look for "
            "dull or soft paint before the next coat.",
            about=sheet.product,
        )
        for sheet in sheets
        for least, source in [night_least_c(sheet)]
        if least is not None and night_low_c < least
    ]


def dewy_night(
    air_c: Decimal | None, humidity_pct: Decimal | None, night_low_c: Decimal | None
) -> list[Remark]:
    """The forecast night low less than 3 °C above the dew point of the day's air."""
    if air_c is None or humidity_pct is None or night_low_c is None:
        return []
    try:
        dew = dew_margin(air_c, humidity_pct, night_low_c)
    except ValueError:
        return []  # said by near_dew_point
    if dew.enough:
        return []
    side = "above" if dew.margin_k >= 0 else "below"
    return [
        Remark(
            "dewy-night",
            "warning",
            f"Night low of {degrees(night_low_c)} to come, {degrees(Decimal(abs(dew.margin_k)))} "
            f"{side} the dew point of {degrees(Decimal(dew.dew_point_c))} "
            f"(air {degrees(air_c)}, {number(humidity_pct)} %).",
            f"at least {DEW_MARGIN_K:g} °C above, here {degrees(Decimal(dew.least_surface_c))}",
            DEW_MARGIN_SOURCE,
            "Dew is likely on it that night, however dry it is now: begin early enough that it "
            "has set, cover it clear of the surface, or wait. If it is done: wash, dry and abrade "
            "before the next coat.",
        )
    ]


def _reading(air_c: Decimal | None, surface_c: Decimal | None) -> tuple[Decimal | None, str]:
    return (surface_c, "Surface") if surface_c is not None else (air_c, "Air")


def lowest_c(sheet: SheetFacts) -> tuple[Decimal | None, str, Level]:
    """The lowest temperature to lay it on at, who says so, and how grave it is to go below."""
    if sheet.apply_min_c is not None:
        return sheet.apply_min_c, sheet.source, "warning"
    name = "resin_min_c" if sheet.is_resin else "coating_min_c" if sheet.is_coating else ""
    if not name:
        return None, "", "note"
    return DEFAULT_LIMITS[name].value, DEFAULT_LIMITS[name].source, "note"

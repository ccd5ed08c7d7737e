"""The rules for one stage: its layer, its weather, its wood and the heat of its face. What it is
laid on is in `waiting_rules`."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_CEILING, Decimal
from itertools import chain

from properties.heat import MARGIN_K, MARGIN_SOURCE, margin_k
from properties.moisture import OVER_RANGE_PCT

from .facts import SheetFacts, StageFacts
from .limits import DEFAULT_LIMITS
from .remark import Remark
from .sheet_limits import thickest_layer, wettest_wood
from .waiting_rules import WAITING_RULES, layer_cure
from .weather_rules import (
    LAID_ON,
    dewy_night,
    near_dew_point,
    too_cold,
    too_cold_a_night,
    too_hot,
    too_humid,
)
from .words import degrees, number, short, stage

__all__ = ["layer_cure", "stage_remarks"]


def stage_remarks(facts: StageFacts) -> list[Remark]:
    """All rules of a stage; a sheet that several batches share is asked once."""
    once = replace(facts, sheets=tuple(dict.fromkeys(facts.sheets)))
    return list(chain.from_iterable(rule(once) for rule in STAGE_RULES))


def layer_thin(facts: StageFacts) -> list[Remark]:
    """Thinner than the sheet's least layer."""
    depth = facts.thickness_mm
    return [
        Remark(
            "layer-thin",
            "warning",
            f"A layer of {number(depth)} mm.",
            f"{short(sheet.product)} at least {number(sheet.layer_min_mm)} mm",
            sheet.source,
            "A thin layer cures late and gives way at a feathered edge or in heat: cut a deeper "
            "seat for it, or use a product made for thin layers.",
            about=sheet.product,
        )
        for sheet in facts.sheets
        if depth is not None
        and sheet.layer_min_mm is not None
        and depth < sheet.layer_min_mm - _rounding(sheet.layer_min_mm)
    ]


def layer_thick(facts: StageFacts) -> list[Remark]:
    """Thicker than the sheet allows at once; for a filler without a figure, the usual 25 mm."""
    found = []
    for sheet in facts.sheets:
        most, source = thickest_layer(sheet)
        if facts.thickness_mm is None or most is None:
            continue
        if facts.thickness_mm <= most + _rounding(most):
            continue
        layers = layers_for(facts.thickness_mm, most)
        found.append(
            Remark(
                "layer-thick",
                "warning",
                f"A layer of {number(facts.thickness_mm)} mm.",
                f"{short(sheet.product)} at most {number(most)} mm at once",
                source,
                f"Lay it in {layers} layers. In one it heats itself, cracks and shrinks from the "
                "edge: if it is in, look for cracks and a gap once it is cold.",
                about=sheet.product,
            )
        )
    return found


def _rounding(limit_mm: Decimal) -> Decimal:
    """Half of the last digit of a sheet's figure: half an inch keeps a limit of 13 mm."""
    exponent = limit_mm.normalize().as_tuple().exponent
    return Decimal(5).scaleb(min(int(exponent), 0) - 1)


def layers_for(depth_mm: Decimal, most_mm: Decimal) -> int:
    """How many layers fill a depth, each at most `most_mm`; both above zero, else ValueError."""
    if depth_mm <= 0 or most_mm <= 0:
        raise ValueError("a depth and a layer are above zero")
    return int((depth_mm / most_mm).to_integral_value(ROUND_CEILING))


def thickness_not_recorded(facts: StageFacts) -> list[Remark]:
    """A filling without its thickness, where the sheet has something to say about it."""
    asked = [sheet for sheet in facts.sheets if sheet.layer_min_mm or sheet.layer_max_mm]
    if facts.kind != "fill" or facts.thickness_mm is not None or not asked:
        return []
    return [
        Remark(
            "thickness-not-recorded",
            "note",
            "The thickness of the layer is not recorded.",
            "",
            asked[0].source,
            "Enter it, so that it can be held against the sheet.",
        )
    ]


def stage_weather(facts: StageFacts) -> list[Remark]:
    """Too cold, too hot, too humid or near the dew point, by the readings of the stage."""
    if facts.kind not in LAID_ON:
        return []
    return [
        *too_cold(facts.sheets, facts.air_c, facts.surface_c),
        *too_hot(facts.sheets, facts.air_c, facts.surface_c),
        *too_humid(facts.sheets, facts.humidity_pct),
        *near_dew_point(facts.air_c, facts.humidity_pct, facts.surface_c),
    ]


def stage_night(facts: StageFacts) -> list[Remark]:
    """The night that a forecast holds in store for what was laid on: dew, or cold for a paint."""
    if facts.kind not in LAID_ON:
        return []
    return [
        *too_cold_a_night(facts.sheets, facts.night_low_c),
        *dewy_night(facts.air_c, facts.humidity_pct, facts.night_low_c),
    ]


def weather_not_recorded(facts: StageFacts) -> list[Remark]:
    """No temperature, or too little to reckon the dew point."""
    if facts.kind not in LAID_ON or facts.weather_in_batches:
        return []
    readings = {
        "air temperature": facts.air_c,
        "surface temperature": facts.surface_c,
        "humidity": facts.humidity_pct,
    }
    missing = [name for name, value in readings.items() if value is None]
    if not missing:
        return []
    return [
        Remark(
            "weather-not-recorded",
            "note",
            f"Not recorded: {', '.join(missing)}.",
            "the dew point needs all three",
            "Magnus formula",
            "Enter them if they were read; nothing is guessed.",
        )
    ]


def wood_wet(facts: StageFacts) -> list[Remark]:
    """Wetter than the strictest sheet allows; with no sheet's figure, over 15 % or, worse, 18 %."""
    if facts.kind not in LAID_ON or facts.moisture_pct is None:
        return []
    limit, source = wettest_wood(facts.sheets)
    if facts.moisture_pct <= limit:
        return []
    by_sheet = any(sheet.wood_moisture_max_pct is not None for sheet in facts.sheets)
    much = facts.moisture_pct > DEFAULT_LIMITS["moisture_hold_pct"].value
    over = facts.moisture_pct > OVER_RANGE_PCT
    shown = f">{OVER_RANGE_PCT}" if over else number(facts.moisture_pct)
    return [
        Remark(
            "wood-wet",
            "warning",
            f"Wood moisture {shown} %.",
            f"at most {number(limit)} %",
            source,
            "Find where the water comes from, cover the work and let it dry; read it again at the "
            "same point. Over wet wood it comes loose, and decay goes on behind it.",
            holds=by_sheet or much,
        )
    ]


def moisture_not_recorded(facts: StageFacts) -> list[Remark]:
    """The first coat on the wood without a reading before it."""
    if facts.moisture_pct is not None:
        return []
    resin_below = any(layer.sheet.is_resin for layer in facts.below)
    coat_below = any(layer.sheet.is_coating for layer in facts.below)
    first = (facts.kind in {"seal", "fill"} and not resin_below) or (
        facts.kind in {"prime", "paint"} and not coat_below
    )
    if not first:
        return []
    return [
        Remark(
            "moisture-not-recorded",
            "note",
            f"{stage(facts.kind)}: no moisture reading before it.",
            "",
            "common practice, no source",
            "Enter the worst reading if one was taken.",
        )
    ]


def heat_too_low(facts: StageFacts) -> list[Remark]:
    """Heat deflection temperature less than 10 K above the surface expected on this face."""
    found = []
    for sheet in facts.sheets:
        deflects_c, face = sheet.heat_deflection_c, facts.face
        margin = margin_k(deflects_c, face)
        if not sheet.is_resin or deflects_c is None or face is None or margin is None:
            continue
        if margin >= MARGIN_K:
            continue
        found.append(
            Remark(
                "heat-too-low",
                "warning",
                f"{short(sheet.product)} deflects in heat at {degrees(deflects_c)}"
                f"{_method(sheet)}.",
                f"at least {degrees(face.celsius + MARGIN_K)}, {number(MARGIN_K)} K over the "
                f"{degrees(face.celsius)} expected here ({face.basis})",
                f"{sheet.source}; {MARGIN_SOURCE}",
                "Use a product that stands more heat, or a lighter colour; on this face it may "
                "sag or show through the paint.",
                about=sheet.product,
                holds=True,
            )
        )
    return found


def heat_not_judged(facts: StageFacts) -> list[Remark]:
    """A resin without its heat figure, or a face without its colour."""
    resins = [sheet for sheet in facts.sheets if sheet.is_resin]
    missing = [
        f"the heat deflection temperature of {short(sheet.product)}"
        for sheet in resins
        if sheet.heat_deflection_c is None
    ]
    if resins and facts.face is None:
        missing.append("how light or dark the finish is")
    if not missing:
        return []
    return [
        Remark(
            "heat-not-judged",
            "note",
            f"Heat is not judged. Not recorded: {', '.join(missing[:3])}.",
            "",
            MARGIN_SOURCE,
            "Enter it with the product or the member.",
        )
    ]


STAGE_RULES = (
    layer_thin, layer_thick, thickness_not_recorded, stage_weather, stage_night,
    weather_not_recorded, wood_wet, moisture_not_recorded, *WAITING_RULES, heat_too_low,
    heat_not_judged,
)  # fmt: skip


def _method(sheet: SheetFacts) -> str:
    return f" ({short(sheet.heat_deflection_method, 40)})" if sheet.heat_deflection_method else ""

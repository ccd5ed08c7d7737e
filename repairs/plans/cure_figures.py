"""The figures of a stage's heat and times: how warm it gets, when it has cured, when the next layer
may go on."""

from __future__ import annotations

from config.figures import Figure, Formula, figure
from materials.fill_heat import (
    FILL_HEAT,
    LIMIT_C,
    LIMIT_SOURCE,
    THICKEST_LAYER,
    TOLD_UP_TO_C,
    WHY_LINING,
    LayerHeat,
)
from materials.models import SheetRevision
from materials.self_heating import SELF_HEATING
from repairs.cure_series import EQUIVALENT_AGE, READY
from repairs.plans.figure_words import Words, moment, span
from repairs.plans.prepared import Prepared, PreparedStage
from repairs.weather_hours import HOUR, WORK_HOURS

WINDOW = Formula(
    words="The next layer goes on once the hours that count have added up to the sheet's earliest "
    "time, and no later than the sheet's latest; sooner where warm hours, counted in full, add up "
    "to the latest before.",
    symbols="opens: Σ min(k(T), 1)·Δt = earliest; closes: Σ k(T)·Δt = latest, or latest as told",
    source="data sheet; equivalent age as for the cure",
    holds="without washing and abrading",
)


def cure_figure(
    stage: PreparedStage, sheet: SheetRevision, prepared: Prepared, words: Words
) -> Figure | None:
    cure = stage.days.cure if stage.days else None
    if cure is None or stage.days is None:
        return None
    inputs = [
        ("Mixed", moment(stage.days.layers[-1])),
        ("Full cure of the sheet", f"{span(sheet.cure_time)} at {words.heat(sheet.cure_at_c)}"),
        ("Air", prepared.weather or "not entered"),
        ("How it was reached", words.sentence(cure.basis)),
    ]
    if cure.earliest is not None or cure.latest is not None:
        inputs.append(("Between", f"{moment(cure.earliest)} and {moment(cure.latest)}"))
        inputs.append(("By the ten-degree rule", moment(cure.by_ten_degrees)))
        inputs.append(("Hours too cold to count", f"{cure.stalled_h:.0f}"))
    known = cure.earliest is not None
    value = moment(cure.ready_at) if cure.ready_at else "It stands still: too cold."
    return figure("Cured", value, EQUIVALENT_AGE if known else READY, *inputs)


def window_figure(stage: PreparedStage, sheet: SheetRevision, words: Words) -> Figure | None:
    days = stage.days
    if days is None or (sheet.recoat_from is None and sheet.recoat_to is None):
        return None
    if not days.layers:
        return None
    opens, closes = days.window_opens_at, days.window_closes_at
    parts = [
        f"from {moment(opens)}" if opens else "",
        f"until {moment(closes)}" if closes else "",
    ]
    return figure(
        "Next layer",
        " ".join(part for part in parts if part) or "It stands still: too cold.",
        WINDOW,
        ("Laid", moment(days.layers[-1])),
        ("Earliest of the sheet", span(sheet.recoat_from)),
        ("Latest of the sheet", span(sheet.recoat_to)),
        ("At", words.heat(sheet.cure_at_c)),
    )


def hours_figure(stage: PreparedStage, words: Words) -> Figure | None:
    """The hours of the forecast in which the stage may be done, and what refuses the others."""
    days = stage.days
    if days is None or not (days.allowed or days.refused):
        return None
    value = "none"
    if days.allowed:
        hours = sum((each.ends - each.begins) / HOUR for each in days.allowed)
        value = f"{hours:.0f} h, from {moment(days.allowed[0].begins)}"
    return figure(
        "Hours that the forecast allows",
        value,
        WORK_HOURS,
        *((f"Refused: {reason}", f"{hours} h") for reason, hours in days.refused.items()),
        *(("To know", words.sentence(note)) for note in days.notes),
    )


def heat_figure(stage: PreparedStage, words: Words) -> Figure | None:
    heat = stage.heat
    if heat is None:
        return None
    after = ("After", span(heat.peak_after))
    runs = "yes" if heat.critical else "no; wood and still air cool it less than that"
    return figure(
        "Warmest while it cures",
        warmest(heat, words),
        FILL_HEAT,
        ("Layer", words.length(heat.thickness_mm)),
        ("Begun at", words.heat(heat.start_c)),
        after,
        ("At most, with no heat lost", words.heat(round(heat.adiabatic_c))),
        ("Runs away even between walls kept cool", runs),
        ("Running away", f"{SELF_HEATING.symbols}. {SELF_HEATING.source}"),
        ("How it was reached", words.sentence(heat.basis)),
        ("Why a lining is safer", WHY_LINING),
    )


def warmest(heat: LayerHeat, words: Words) -> str:
    """The estimate, or that it is too hot for one."""
    if heat.beyond_telling:
        return f"over {words.heat(TOLD_UP_TO_C)}: it may smoke and crack"
    return words.heat(round(heat.peak_c))


def thickest_figure(stage: PreparedStage, words: Words) -> Figure | None:
    if stage.thickest_mm is None:
        return None
    limit = f"{words.heat(LIMIT_C)} ({words.sentence(LIMIT_SOURCE)})"
    return figure(
        "Thickest layer that stays cool enough",
        words.length(stage.thickest_mm),
        THICKEST_LAYER,
        ("Limit", limit),
        ("Begun at", words.heat(stage.heat.start_c if stage.heat else stage.air_c)),
    )

"""The batch tables of a work sheet: what to weigh, as the scale shows it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal

from config.quantities import Quantity, UnitSystem, show
from materials.batches import NO_PACE, PlannedBatch
from materials.models import SheetRevision
from repairs.models import Plan
from repairs.plans.figure_words import Words, span
from repairs.plans.prepared import PreparedStage
from repairs.plans.starting import SCALE_STEP_G
from repairs.plans.work_sheet_checks import briefly
from repairs.remarks.words import number

MINUTE = timedelta(minutes=1)
OUNCE_G = Decimal("28.349523125")
# A longer table may break between two rows; a shorter one stays on one page.
KEPT_WHOLE = 14
# Some four pages of them, shared out evenly among the stages that are mixed.
MOST_LINES = 160


@dataclass(frozen=True)
class Weighing:
    """One line of a batch table. The figures are as the scale shows them; `a_us` and `b_us` say
    the same in ounces, for those who read them, or in grams beside a scale that shows ounces."""

    number: int
    a: str
    b: str
    total: str
    a_us: str = ""
    b_us: str = ""


@dataclass(frozen=True)
class LayerOfBatches:
    """`title` is empty where there is but one layer."""

    title: str
    rows: tuple[Weighing, ...]


@dataclass(frozen=True)
class MixTable:
    """The batches of one stage, by layer, in the unit of the scale or jug."""

    unit: str
    ratio: str
    within: str
    layers: tuple[LayerOfBatches, ...]
    remark: str
    kept_whole: bool


def mixing_of(stage: PreparedStage, plan: Plan, words: Words) -> MixTable | None:
    if stage.batches is None or stage.sheet is None:
        return None
    step = (plan.scale_step_g or SCALE_STEP_G) if stage.unit == "g" else Decimal(1)
    return MixTable(
        unit="oz" if stage.unit == "g" and shows_ounces(step, words) else stage.unit,
        ratio=_ratio(stage.sheet, stage.unit),
        within=_within(stage),
        layers=tuple(_layers(stage, step, words)),
        # Who plans is asked for a pace; at the wall there is nobody to ask.
        remark=words.sentence(stage.batches.remark.replace(NO_PACE, "").strip()),
        kept_whole=len(stage.batches.batches) <= KEPT_WHOLE,
    )


def _ratio(sheet: SheetRevision, unit: str) -> str:
    ratio = sheet.weight_ratio() if unit == "g" else sheet.volume_ratio()
    return "" if ratio is None else f"A : B = {ratio}"


def _within(stage: PreparedStage) -> str:
    """In whole minutes, rounded down: rather too early than too late."""
    if stage.working is None:
        return ""
    time = stage.working.to_use_within
    return f"{time // MINUTE} min" if time < 180 * MINUTE else span(time)


def _layers(stage: PreparedStage, step: Decimal, words: Words) -> Iterator[LayerOfBatches]:
    moments = stage.days.layers if stage.days else ()
    for layer in range(1, stage.layers + 1):
        title = ""
        if stage.layers > 1:
            when = f", from {briefly(moments[layer - 1])}" if layer <= len(moments) else ""
            title = f"Layer {layer} of {stage.layers}{when}"
        rows = tuple(
            _weighing(batch, stage.unit, step, words) for batch in stage.batches_of_layer(layer)
        )
        yield LayerOfBatches(title, rows)


def _weighing(batch: PlannedBatch, unit: str, step: Decimal, words: Words) -> Weighing:
    ounces = unit == "g" and words.units == UnitSystem.US
    if ounces and shows_ounces(step, words):
        return _in_ounces(batch)
    return Weighing(
        number=batch.number,
        a=on_scale(batch.a, step),
        b=on_scale(batch.b, step),
        total=on_scale(batch.total, step),
        a_us=_ounces(batch.a) if ounces else "",
        b_us=_ounces(batch.b) if ounces else "",
    )


def _in_ounces(batch: PlannedBatch) -> Weighing:
    a, b, total = (
        "by ratio" if each is None else number(each / OUNCE_G, "0.01")
        for each in (batch.a, batch.b, batch.total)
    )
    a_g, b_g = (
        "" if each is None else show(each, Quantity.MASS, UnitSystem.METRIC, 1)
        for each in (batch.a, batch.b)
    )
    return Weighing(batch.number, a, b, total, a_g, b_g)


def shows_ounces(step: Decimal, words: Words) -> bool:
    """A reader of ounces whose scale has steps of whole hundredths of an ounce."""
    hundredths = step / OUNCE_G * 100
    return words.units == UnitSystem.US and abs(hundredths - round(hundredths)) < Decimal("0.01")


def scale_in_words(step: Decimal, words: Words) -> str:
    if shows_ounces(step, words):
        return f"{number(step / OUNCE_G, '0.01')} oz"
    return show(step, Quantity.MASS, UnitSystem.METRIC)


def on_scale(amount: Decimal | None, step: Decimal) -> str:
    """As many decimals as the scale shows, and no mark between thousands, as on a scale."""
    if amount is None:
        return "by ratio"
    shown = step.normalize()
    places = shown if shown.as_tuple().exponent < 0 else Decimal(1)  # type: ignore[operator]
    return f"{amount.quantize(places):f}"


def _ounces(amount: Decimal | None) -> str:
    return "" if amount is None else show(amount, Quantity.MASS, UnitSystem.US, 2)


def few_enough(table: MixTable, stages: int) -> MixTable:
    """The table of one of so many mixed stages, with no more lines than are its share."""
    most = left = max(MOST_LINES // stages, 1)
    count = sum(len(layer.rows) for layer in table.layers)
    layers = []
    for layer in table.layers:
        if left <= 0:
            break
        layers.append(replace(layer, rows=layer.rows[:left]))
        left -= max(len(layer.rows), 1)
    if count <= most:
        return replace(table, layers=tuple(layers))
    told = f"Only the first {most} of {count} batches have a line here; the others weigh the same."
    return replace(table, layers=tuple(layers), remark=f"{table.remark} {told}".strip())

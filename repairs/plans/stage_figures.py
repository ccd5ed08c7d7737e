"""The computed figures of one planned stage, each to be opened."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from config.figures import Figure, figure
from materials.batches import BATCHES
from materials.coverage import PAINT, SEALER
from materials.mixing import LOSS, MIXED_DENSITY
from materials.models import SheetRevision
from materials.weighing import LEAST_BATCH, RATIO_ERROR
from materials.working_time import POT_LIFE
from repairs.logbook.facts import sheet_facts
from repairs.models import Plan, Stage
from repairs.plans.amounts import COATED, LAYERS, density_of, walls_of
from repairs.plans.cure_figures import (
    cure_figure,
    heat_figure,
    hours_figure,
    thickest_figure,
    window_figure,
)
from repairs.plans.figure_words import Words, percent, span, told
from repairs.plans.prepared import Prepared, PreparedStage
from repairs.plans.rows import PlanRows
from repairs.remarks.sheet_limits import ratio_tolerance, thickest_layer


@dataclass(frozen=True)
class StageFigures:
    """One of `Prepared.stages`, in its order. None where there is nothing to say."""

    amount: Figure | None = None
    loss: Figure | None = None
    density: Figure | None = None
    layers: Figure | None = None
    working: Figure | None = None
    batches: Figure | None = None
    least_batch: Figure | None = None
    scale_error: Figure | None = None
    heat: Figure | None = None
    thickest: Figure | None = None
    cure: Figure | None = None
    window: Figure | None = None
    hours: Figure | None = None


def stage_figures(
    stage: PreparedStage, prepared: Prepared, rows: PlanRows, words: Words
) -> StageFigures:
    sheet, plan = stage.sheet, rows.plan
    if sheet is None:
        missing = told("Amount", stage.missing[0]) if stage.missing else None
        return StageFigures(amount=missing, hours=hours_figure(stage, words))
    return StageFigures(
        amount=_amount(stage, prepared, plan, words),
        loss=_loss(stage, plan, words),
        density=_density(sheet, words),
        layers=_layers(stage, prepared, sheet, words),
        working=_working(stage, sheet, words),
        batches=_batches(stage, plan, words),
        least_batch=_least_batch(stage, plan, words),
        scale_error=_scale_error(stage, plan, words),
        heat=heat_figure(stage, words),
        thickest=thickest_figure(stage, words),
        cure=cure_figure(stage, sheet, prepared, words),
        window=window_figure(stage, sheet, words),
        hours=hours_figure(stage, words),
    )


def _amount(stage: PreparedStage, prepared: Prepared, plan: Plan, words: Words) -> Figure | None:
    taken, sheet = stage.amount, stage.sheet
    if taken is None or sheet is None:
        return told("Amount", words.sentence(stage.missing[0])) if stage.missing else None
    volume = words.amount(taken.total_ml, "ml")
    value = volume if taken.total_g is None else f"{words.amount(taken.total_g, 'g')}, {volume}"
    loss = ("Loss", words.amount(taken.loss_ml, "ml"))
    if stage.row.kind == Stage.Kind.FILL:
        into = ("Into the work", f"{words.amount(taken.ml, 'ml')}, {taken.basis}")
        return figure("Amount to mix", value, LOSS, into, loss, _of_density(sheet, words))
    coats = ("Coats", str(stage.row.coats))
    if stage.row.kind in COATED:
        area = ("Area", words.area(plan.paint_m2 * 1_000_000 if plan.paint_m2 else None))
        return figure("Amount", value, PAINT, area, _covers(sheet, words), coats, loss)
    end, side = walls_of(plan, prepared.cavity)
    return figure(
        "Amount",
        value,
        SEALER,
        ("End grain", words.area(end)),
        ("Side grain", words.area(side)),
        _covers(sheet, words),
        ("Coverage on end grain", words.coverage(sheet.coverage_end_grain_m2_per_l)),
        coats,
        loss,
    )


def _loss(stage: PreparedStage, plan: Plan, words: Words) -> Figure | None:
    taken = stage.amount
    if taken is None:
        return None
    unit = "ml" if taken.loss_g is None else "g"
    loss = taken.loss_ml if taken.loss_g is None else taken.loss_g
    net = taken.ml if taken.loss_g is None else taken.net_g
    return figure(
        "Loss",
        words.amount(loss, unit),
        LOSS,
        ("Into the work", words.amount(net, unit)),
        ("Share of what is mixed", f"{(plan.loss_pct or Decimal(0)).normalize():f} %"),
    )


def _density(sheet: SheetRevision, words: Words) -> Figure | None:
    density = density_of(sheet)
    if density is None or sheet.density_mixed_g_ml is not None or sheet.product.parts == 1:
        return None
    return figure(
        "Density once mixed",
        words.density(density),
        MIXED_DENSITY,
        ("Ratio", str(sheet.weight_ratio() or sheet.volume_ratio())),
        ("Density of A", words.density(sheet.density_a_g_ml)),
        ("Density of B", words.density(sheet.density_b_g_ml)),
    )


def _layers(
    stage: PreparedStage, prepared: Prepared, sheet: SheetRevision, words: Words
) -> Figure | None:
    if stage.row.kind != Stage.Kind.FILL or stage.layer_mm is None:
        return None
    count = "1 layer" if stage.layers == 1 else f"{stage.layers} layers"
    depth = prepared.cavity.depth_mm if prepared.cavity else None
    by_sheet, _ = thickest_layer(sheet_facts(sheet))
    return figure(
        "Layers",
        f"{count} of {words.length(stage.layer_mm)}",
        LAYERS,
        ("Depth of the cavity", words.length(depth)),
        (
            "One layer at most",
            words.length(stage.row.layer_mm or by_sheet),
        ),
    )


# Mixing


def _working(stage: PreparedStage, sheet: SheetRevision, words: Words) -> Figure | None:
    working = stage.working
    if working is None:
        return None
    band = f"from {span(working.shortest)} to {span(working.longest)}"
    inputs = [
        ("Pot life of the sheet", span(working.by_sheet)),
        ("At", words.heat(sheet.pot_life_at_c)),
        ("On the day", words.heat(working.temperature_c)),
        ("In the pot", words.mass(working.mass_g)),
        ("How it was reached", words.sentence(working.basis)),
        ("Estimate", f"{span(working.time)}, {band}"),
    ]
    if working.by_ten_degrees is not None:
        inputs.append(("By the ten-degree rule", span(working.by_ten_degrees)))
    if working.remark:
        inputs.append(("To know", words.sentence(working.remark)))
    return figure("Working time", span(working.to_use_within), POT_LIFE, *inputs)


def _batches(stage: PreparedStage, plan: Plan, words: Words) -> Figure | None:
    if stage.batches is None:
        return None
    rows, unit = stage.batches.batches, stage.unit
    count = "1 batch" if len(rows) == 1 else f"{len(rows)} batches"
    inputs = [("Into", "1 layer" if stage.layers == 1 else f"{stage.layers} layers or coats")]
    if stage.batches.most is not None:
        most = words.weighed(stage.batches.most, unit)
        inputs.append(("Largest batch", f"{most}, by {stage.batches.bound_by}"))
    if plan.pace_g_min is not None:
        inputs.append(("Laid in a minute", words.amount(plan.pace_g_min, "g")))
    if stage.batches.remark:
        inputs.append(("To know", words.sentence(stage.batches.remark)))
    return figure("Batches", f"{count} of {words.weighed(rows[0].total, unit)}", BATCHES, *inputs)


def _least_batch(stage: PreparedStage, plan: Plan, words: Words) -> Figure | None:
    if stage.least_batch_g is None or stage.sheet is None:
        return None
    return figure(
        "Smallest batch worth mixing on this scale",
        words.weighed(stage.least_batch_g, "g"),
        LEAST_BATCH,
        ("Ratio", str(stage.sheet.weight_ratio())),
        _step(plan, words),
        ("The ratio may be off by", percent(ratio_tolerance(sheet_facts(stage.sheet)))),
    )


def _scale_error(stage: PreparedStage, plan: Plan, words: Words) -> Figure | None:
    if stage.scale_error is None or stage.batches is None:
        return None
    first = stage.batches.batches[0]
    return figure(
        "Error of the ratio by the scale",
        percent(stage.scale_error),
        RATIO_ERROR,
        ("A", words.weighed(first.a, stage.unit)),
        ("B", words.weighed(first.b, stage.unit)),
        _step(plan, words),
    )


def _step(plan: Plan, words: Words) -> tuple[str, str]:
    return "Step of the scale", words.weighed(plan.scale_step_g, "g")


def _covers(sheet: SheetRevision, words: Words) -> tuple[str, str]:
    return "Coverage", words.coverage(sheet.coverage_m2_per_l)


def _of_density(sheet: SheetRevision, words: Words) -> tuple[str, str]:
    return "Density once mixed", words.density(density_of(sheet))

"""Working a plan out: every figure that follows from its rows, the stores and the weather."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from django.db.models import prefetch_related_objects

from materials.models import SheetRevision
from properties.heat import ExpectedSurface
from repairs.logbook.facts import face_of
from repairs.models import PlanStage, Stage
from repairs.plans.air import PlannedAir, air_of
from repairs.plans.amounts import SOAKED, Space, space_of
from repairs.plans.costs import costs_of
from repairs.plans.days import ready_at
from repairs.plans.filling_heat import FillHeat, fill_heat_of
from repairs.plans.fillings import fillings_of
from repairs.plans.judging import judged, of_repair
from repairs.plans.options import comparison_of
from repairs.plans.own_lives import lives_here
from repairs.plans.own_rules import of_plan, of_stage
from repairs.plans.prepared import Prepared, PreparedStage
from repairs.plans.ranking import ranking_of
from repairs.plans.reached import once, said
from repairs.plans.rows import PlanRows
from repairs.plans.stages import PlannedStage, planned_stages
from repairs.plans.stock import StageNeed, need_of, stock_for
from repairs.remarks.weather_rules import LAID_ON
from repairs.remarks.words import stage as stage_words
from repairs.stories.member_cautions import cautions_at_work


def prepare(rows: PlanRows, at: datetime) -> Prepared:
    """What follows from a plan, saved or not, as the stores stand at an instant."""
    prefetch_related_objects([row for row in rows.stages if row.sheet_id], "sheet__product__sheets")
    plan, place = rows.plan, rows.member.building.property
    planned_on = place.day_of(plan.starts_at)
    space, air, face = space_of(rows), air_of(plan, place), face_of(rows.member)
    stages, needs = _stages(rows, space, air, face)
    stock = stock_for(needs, place.currency)
    stages = judged(stages, rows, air, face, stock)
    comparison, no_comparison = comparison_of(plan, rows.options, place.currency)
    ready = ready_at([each.days for each in stages if each.days])
    prepared = Prepared(
        cavity=space.cavity,
        fillings=fillings_of(plan, space, _filler(rows), stock, place.currency),
        stages=stages,
        stock=stock,
        face=face,
        ranking=ranking_of(face, [row.sheet for row in rows.stages if row.sheet], planned_on),
        costs=costs_of(plan, stock, _not_counted(stages, needs), place.currency),
        currency=place.currency,
        comparison=comparison,
        remarks=tuple(of_repair(rows)),
        cautions=cautions_at_work(rows.member, [row.kind for row in rows.stages]),
        missing=said(_no_cavity(rows, space), air.missing, no_comparison),
        planned_on=planned_on,
        ready_at=ready,
        takes=_elapsed(plan.starts_at, ready),
        weather=air.words,
        own_record=lives_here(plan.kind, place, planned_on).words,
    )
    own = of_plan(rows, prepared, air, at.astimezone(place.zone))
    return replace(prepared, remarks=(*prepared.remarks, *own))


def _stages(
    rows: PlanRows, space: Space, air: PlannedAir, face: ExpectedSurface | None
) -> tuple[tuple[PreparedStage, ...], list[StageNeed]]:
    """Every stage worked out, and what it takes from the stores."""
    place = rows.member.building.property
    stages, needs = [], []
    for number, each in enumerate(planned_stages(rows, space, air), start=1):
        stage = _stage(each)
        stages.append(replace(stage, remarks=tuple(of_stage(stage, face))))
        on = place.day_of(each.days.last_at or rows.plan.starts_at)
        if need := need_of(number, each.row.sheet, each.amount, each.mixes, on):
            needs.append(need)
    return tuple(stages), needs


def _stage(planned: PlannedStage) -> PreparedStage:
    row, sheet, days, mixes = planned.row, planned.row.sheet, planned.days, planned.mixes
    heat = FillHeat()
    if row.kind == Stage.Kind.FILL and sheet is not None:
        heat = fill_heat_of(sheet, planned.layers.each_mm, planned.warmth_c)
    no_day = days.why if days.begins_at is None else ""
    return PreparedStage(
        row=row,
        sheet=sheet,
        amount=planned.amount,
        layers=planned.layers.count,
        layer_mm=planned.layers.each_mm,
        working=mixes.working,
        batches=mixes.batches,
        unit=mixes.unit,
        least_batch_g=mixes.least_g,
        scale_error=mixes.scale_error,
        heat=heat.heat,
        thickest_mm=heat.thickest_mm,
        days=days,
        air_c=planned.warmth_c,
        missing=said(
            _no_product(row),
            planned.missing,
            planned.layers.missing,
            *mixes.missing,
            heat.missing,
            no_day,
        ),
    )


def _no_cavity(rows: PlanRows, space: Space) -> str:
    """Asked for only where something goes into it or onto its walls."""
    asked = {row.kind for row in rows.stages} & {Stage.Kind.FILL, *SOAKED}
    return space.missing if asked else ""


def _not_counted(stages: Sequence[PreparedStage], needs: Sequence[StageNeed]) -> tuple[str, ...]:
    """The products of stages of which it is not known how much they take."""
    counted = {need.stage for need in needs}
    return once(
        each.product or each.row.get_kind_display()
        for number, each in enumerate(stages, start=1)
        if each.row.kind in LAID_ON and number not in counted and not _takes_nothing(each)
    )


def _takes_nothing(stage: PreparedStage) -> bool:
    return stage.amount is not None and stage.amount.ml == 0


def _no_product(row: PlanStage) -> str:
    if row.sheet is not None or row.kind not in LAID_ON:
        return ""
    return f"Choose a product for {stage_words(row.kind).lower()}."


def _filler(rows: PlanRows) -> SheetRevision | None:
    """The sheet of the first filling."""
    return next((row.sheet for row in rows.stages if row.kind == Stage.Kind.FILL), None)


def _elapsed(begins: datetime, ends: datetime | None) -> timedelta | None:
    return None if ends is None else ends.astimezone(UTC) - begins.astimezone(UTC)

"""Working a plan out: every figure that follows from its rows, the stores and the weather."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from django.db.models import prefetch_related_objects

from materials.models import SheetRevision
from properties.heat import ExpectedSurface
from repairs.logbook.facts import face_of, sheet_facts
from repairs.models import Plan, PlanStage, Stage
from repairs.plans.air import PlannedAir, air_of
from repairs.plans.amounts import SOAKED, Layers, Space, amount_of, layers_of, space_of
from repairs.plans.costs import costs_of
from repairs.plans.days import PlannedWork, days_of, ready_at
from repairs.plans.filling_heat import FillHeat, fill_heat_of
from repairs.plans.fillings import fillings_of
from repairs.plans.judging import judged, of_repair
from repairs.plans.mixes import Mixes, mixes_of
from repairs.plans.options import comparison_of
from repairs.plans.own_lives import lives_here
from repairs.plans.own_rules import of_plan, of_stage
from repairs.plans.prepared import Prepared, PreparedStage, StageAmount, StageDays
from repairs.plans.ranking import ranking_of
from repairs.plans.reached import once, said
from repairs.plans.rows import PlanRows
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


@dataclass(frozen=True)
class _Begun:
    """A stage before its day is known."""

    row: PlanStage
    layers: Layers
    amount: StageAmount | None
    missing: str


def _stages(
    rows: PlanRows, space: Space, air: PlannedAir, face: ExpectedSurface | None
) -> tuple[tuple[PreparedStage, ...], list[StageNeed]]:
    """Every stage worked out, and what it takes from the stores."""
    begun = [_begun(row, rows.plan, space) for row in rows.stages]
    work = [_work(each) for each in begun]
    place = rows.member.building.property
    days = days_of(work, rows.plan.starts_at, air, place)
    stages, needs = [], []
    for number, (each, day) in enumerate(zip(begun, days, strict=True), start=1):
        warmth = air.celsius(day.begins_at) if day.begins_at else air.day_c
        mixes = mixes_of(each.row.sheet, each.amount, each.layers.count, rows.plan, warmth)
        stage = _stage(each, day, mixes, warmth)
        stages.append(replace(stage, remarks=tuple(of_stage(stage, face))))
        on = place.day_of(day.last_at or rows.plan.starts_at)
        if need := need_of(number, each.row.sheet, each.amount, mixes, on):
            needs.append(need)
    return tuple(stages), needs


def _begun(row: PlanStage, plan: Plan, space: Space) -> _Begun:
    amount, missing = amount_of(row, plan, space)
    return _Begun(row, layers_of(row, plan, space.cavity), amount, missing)


def _work(begun: _Begun) -> PlannedWork:
    sheet = begun.row.sheet
    return PlannedWork(begun.row.kind, sheet_facts(sheet) if sheet else None, begun.layers.count)


def _stage(begun: _Begun, days: StageDays, mixes: Mixes, warmth: Decimal | None) -> PreparedStage:
    row, sheet = begun.row, begun.row.sheet
    filled = row.kind == Stage.Kind.FILL and sheet is not None
    heat = fill_heat_of(sheet, begun.layers.each_mm, warmth) if filled and sheet else FillHeat()
    no_day = days.why if days.begins_at is None else ""
    return PreparedStage(
        row=row,
        sheet=sheet,
        amount=begun.amount,
        layers=begun.layers.count,
        layer_mm=begun.layers.each_mm,
        working=mixes.working,
        batches=mixes.batches,
        unit=mixes.unit,
        least_batch_g=mixes.least_g,
        scale_error=mixes.scale_error,
        heat=heat.heat,
        thickest_mm=heat.thickest_mm,
        days=days,
        air_c=warmth,
        missing=said(
            _no_product(row),
            begun.missing,
            begun.layers.missing,
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

"""The stages of a plan as its rows and its weather alone tell them; the stores have no say, so
that what was planned can still be told when they have changed."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from repairs.logbook.facts import sheet_facts
from repairs.models import PlanStage
from repairs.plans.air import PlannedAir
from repairs.plans.amounts import Layers, Space, amount_of, layers_of
from repairs.plans.days import PlannedWork, days_of
from repairs.plans.mixes import Mixes, mixes_of
from repairs.plans.prepared import StageAmount, StageDays
from repairs.plans.rows import PlanRows


@dataclass(frozen=True)
class PlannedStage:
    """`missing` says what the amount wants; `warmth_c` is the air in which it is mixed."""

    row: PlanStage
    layers: Layers
    amount: StageAmount | None
    missing: str
    days: StageDays
    warmth_c: Decimal | None
    mixes: Mixes


def planned_stages(rows: PlanRows, space: Space, air: PlannedAir) -> tuple[PlannedStage, ...]:
    """In their order; no query for sheets that bring their product."""
    plan = rows.plan
    laid = [layers_of(row, plan, space.cavity) for row in rows.stages]
    work = [
        PlannedWork(row.kind, sheet_facts(row.sheet) if row.sheet else None, layers.count)
        for row, layers in zip(rows.stages, laid, strict=True)
    ]
    days = days_of(work, plan.starts_at, air, rows.member.building.property)
    stages = []
    for row, layers, day in zip(rows.stages, laid, days, strict=True):
        amount, missing = amount_of(row, plan, space)
        warmth = air.celsius(day.begins_at) if day.begins_at else air.day_c
        mixes = mixes_of(row.sheet, amount, layers.count, plan, warmth)
        stages.append(PlannedStage(row, layers, amount, missing, day, warmth, mixes))
    return tuple(stages)

"""Working a plan out: every figure that follows from its rows, the stores and the weather."""

from __future__ import annotations

from datetime import datetime

from repairs.plans.prepared import Prepared, PreparedStage
from repairs.plans.rows import PlanRows


def prepare(rows: PlanRows, at: datetime) -> Prepared:
    """What follows from a plan, saved or not, as the stores stand at an instant."""
    place = rows.member.building.property
    return Prepared(
        cavity=None,
        fillings=(),
        stages=tuple(PreparedStage(row=row, sheet=row.sheet) for row in rows.stages),
        stock=(),
        face=None,
        ranking=(),
        costs=(),
        currency=place.currency,
        comparison=None,
        remarks=(),
        cautions=(),
        missing=(),
        planned_on=place.day_of(rows.plan.starts_at),
        ready_at=None,
        takes=None,
    )

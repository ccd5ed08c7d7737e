"""What a plan was to cost, reckoned as the page of its repair does: see `repairs.plans.beside`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from config.figures import Formula
from repairs.models import Batch, CostLine, Plan, Repair, Stage
from repairs.plans.beside import (
    Foreseen,
    at_the_price_of,
    foreseen_stages,
    paired_stages,
    planned_labour,
    used_in,
)
from repairs.plans.rows import PlanRows

PLANNED_MONEY = Formula(
    words="Labour and access as entered with the plan; the planned amounts of material at what "
    "the lots that were used had cost.",
    symbols="labour + access + Σ planned amount × price of the lots used",
    source="this plan",
    holds="while each of the three is known",
)


@dataclass(frozen=True)
class MixedBatch:
    batch: Batch


@dataclass(frozen=True)
class DoneStage:
    """A stage that was done, with the batches that were mixed for it or shared to it."""

    stage: Stage
    batches: tuple[MixedBatch, ...]


@dataclass(frozen=True)
class PlannedMoney:
    """In minor units of the property's currency; None where not entered or not known."""

    labour: int | None
    access: int | None
    material: int | None

    @property
    def total(self) -> int | None:
        if self.labour is None or self.access is None or self.material is None:
            return None
        return self.labour + self.access + self.material


def planned_money(
    plan: Plan, repair: Repair, stages: Iterable[DoneStage], lines: Sequence[CostLine]
) -> PlannedMoney:
    """No query for a plan fetched whole; `lines` are the cost lines of its repair."""
    plan.defect.member = repair.member
    rows = PlanRows.of(plan)
    foreseen = [each for each in foreseen_stages(rows) if each.row.sheet is not None]
    paired, _ = paired_stages(rows.stages, list(stages))
    material = [_material(each, paired[each.row.position], lines) for each in foreseen]
    return PlannedMoney(
        labour=planned_labour(plan),
        access=plan.access_minor,
        material=_sum(material),
    )


def _material(
    foreseen: Foreseen, done: Sequence[DoneStage], lines: Sequence[CostLine]
) -> int | None:
    return at_the_price_of(used_in(done, lines), foreseen.amount, foreseen.unit)


def _sum(amounts: Sequence[int | None]) -> int | None:
    known = [amount for amount in amounts if amount is not None]
    return sum(known) if len(known) == len(amounts) else None

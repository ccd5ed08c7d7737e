"""The rows that a plan is made of, saved or not yet."""

from __future__ import annotations

from dataclasses import dataclass

from properties.models import Member
from repairs.models import Plan, PlanOption, PlanShape, PlanStage


@dataclass(frozen=True)
class PlanRows:
    """A plan with its shapes, stages and options, each in order. The page fills it from what is
    typed, and it is worked out the same whether it is saved or not."""

    plan: Plan
    shapes: tuple[PlanShape, ...] = ()
    stages: tuple[PlanStage, ...] = ()
    options: tuple[PlanOption, ...] = ()

    @classmethod
    def of(cls, plan: Plan) -> PlanRows:
        """A saved plan, best fetched with `Plan.objects.whole()`."""
        return cls(
            plan,
            tuple(plan.shapes.all()),
            tuple(plan.stages.all()),
            tuple(plan.options.all()),
        )

    @property
    def member(self) -> Member:
        return self.plan.defect.member

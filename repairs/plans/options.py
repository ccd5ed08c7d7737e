"""Repair, splice, replace or watch: the ways that a plan weighs, in money."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from functools import partial

from materials.money import from_minor
from repairs.life_cycle.compare import Comparison, Option, compare
from repairs.models import Plan, PlanOption, Repair
from repairs.plans.reached import reached

SEEDS = 2**32


def comparison_of(
    plan: Plan, rows: Sequence[PlanOption], currency: str
) -> tuple[Comparison | None, str]:
    """All options over the plan's years; the same plan always shows the same spread. A repaint is
    upkeep, so nobody is asked what else it is weighed against."""
    if not rows and plan.kind == Repair.Kind.REPAINT:
        return None, ""
    if not rows:
        return None, "Enter what a repair, a splice or a new member costs, to compare them."
    return reached(
        partial(
            _compared,
            plan,
            rows,
            currency,
        )
    )


def _compared(plan: Plan, rows: Sequence[PlanOption], currency: str) -> Comparison:
    return compare(
        [_option(row, currency) for row in rows],
        study_years=plan.study_years,
        real_rate=float(plan.real_rate_pct) / 100,
        price_rise=float(plan.price_rise_pct) / 100,
        seed=plan.submission.int % SEEDS,
    )


def _option(row: PlanOption, currency: str) -> Option:
    def major(minor: int) -> float:
        return float(from_minor(minor, currency))

    return Option(
        kind=row.kind,
        words=PlanOption.Kind(row.kind).label,
        first=major(row.first_minor),
        access=major(row.access_minor),
        life_years=float(row.life_years),
        life_low=_float(row.life_low_years),
        life_high=_float(row.life_high_years),
        upkeep=major(row.upkeep_minor),
        repaint=major(row.repaint_minor),
        repaint_years=_float(row.repaint_years),
        spread=float(row.cost_spread_pct) / 100,
    )


def _float(number: Decimal | None) -> float | None:
    return None if number is None else float(number)

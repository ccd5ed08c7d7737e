"""Every computed figure of a plan as the page shows it, in the reader's units, to be opened."""

from __future__ import annotations

from dataclasses import dataclass

from config.figures import Figure
from config.quantities import UnitSystem
from repairs.plans.prepared import Prepared
from repairs.plans.rows import PlanRows


@dataclass(frozen=True)
class FillingFigures:
    """One of `Prepared.fillings`, in its order."""

    kind: str
    words: str
    chosen: bool
    ml: Figure | None = None
    mass: Figure | None = None
    cost: Figure | None = None


@dataclass(frozen=True)
class StageFigures:
    """One of `Prepared.stages`, in its order."""

    amount: Figure | None = None
    layers: Figure | None = None
    working: Figure | None = None
    batches: Figure | None = None
    least_batch: Figure | None = None
    scale_error: Figure | None = None
    heat: Figure | None = None
    thickest: Figure | None = None
    cure: Figure | None = None
    window: Figure | None = None


@dataclass(frozen=True)
class OptionFigures:
    """One of `Prepared.comparison.results`, in its order."""

    nominal: Figure
    todays_money: Figure
    present_value: Figure
    equivalent_annual: Figure


@dataclass(frozen=True)
class PlanFigures:
    cavity: Figure | None = None
    end_grain: Figure | None = None
    side_grain: Figure | None = None
    fillings: tuple[FillingFigures, ...] = ()
    stages: tuple[StageFigures, ...] = ()
    stock: tuple[Figure, ...] = ()
    face: Figure | None = None
    ranking: tuple[Figure, ...] = ()
    costs: tuple[Figure, ...] = ()
    total: Figure | None = None
    options: tuple[OptionFigures, ...] = ()
    break_even: Figure | None = None
    spread: Figure | None = None


def figures_of(prepared: Prepared, rows: PlanRows, units: UnitSystem | str) -> PlanFigures:
    return PlanFigures(stages=tuple(StageFigures() for _ in prepared.stages))

"""A sill with a cavity and a store of invented products, to plan with."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from materials.models import SheetRevision
from properties.models import Defect
from repairs.models import Plan, PlanOption, PlanShape, PlanStage
from repairs.plans.prepare import prepare
from repairs.plans.prepared import Prepared, PreparedStage
from repairs.plans.rows import PlanRows
from repairs.remarks import Remark
from tests.factories import MORNING, DefectFactory, SheetRevisionFactory

INCH = Decimal("25.4")


def sheet_of(kind: str, parts: int = 2, **figures: Any) -> SheetRevision:
    """A sheet as the database gives it back, so that its figures are decimals."""
    usual: dict[str, Any] = {
        "density_a_g_ml": Decimal("1.2"),
        "density_b_g_ml": Decimal("1.0"),
        "density_mixed_g_ml": Decimal("1.0"),
        "recoat_from": timedelta(hours=4),
        "recoat_to": timedelta(hours=48),
        "coverage_m2_per_l": Decimal(5),
    }
    if parts == 1:
        silent = ("weight_a", "weight_b", "ratio_tolerance_pct", "pot_life", "pot_life_mass_g",
                  "pot_life_at_c", "density_mixed_g_ml", "density_b_g_ml")  # fmt: skip
        usual |= dict.fromkeys(silent)
    made = SheetRevisionFactory(product__kind=kind, product__parts=parts, **{**usual, **figures})
    return SheetRevision.objects.select_related("product").get(pk=made.pk)


def sill(**about: Any) -> Defect:
    sizes = {"width_mm": 150, "depth_mm": 100, "length_mm": 1200}
    about = {**{f"member__{name}": size for name, size in sizes.items()}, **about}
    made = DefectFactory(**about)
    return Defect.objects.with_place().get(pk=made.pk)


def shape(length: Any, width: Any, depth: Any, **about: Any) -> PlanShape:
    sizes = {"length_mm": Decimal(length), "width_mm": Decimal(width)}
    return PlanShape(**sizes, depth_mm=None if depth is None else Decimal(depth), **about)


def plan_rows(
    stages: Sequence[PlanStage],
    *,
    shapes: Iterable[PlanShape] = (),
    options: Iterable[PlanOption] = (),
    defect: Defect | None = None,
    **plan: Any,
) -> PlanRows:
    usual = {"starts_at": MORNING, "loss_pct": Decimal(0), "scale_step_g": Decimal(1)}
    made = Plan(defect=defect or sill(), **{**usual, **plan})
    return PlanRows(made, tuple(shapes), tuple(stages), tuple(options))


def stage(kind: str, sheet: SheetRevision | None = None, **about: Any) -> PlanStage:
    return PlanStage(kind=kind, sheet=sheet, **about)


def worked_out(stages: Sequence[PlanStage], at: datetime = MORNING, **about: Any) -> Prepared:
    return prepare(plan_rows(stages, **about), at)


def filled(sheet: SheetRevision, depth: Any = 20, **about: Any) -> PreparedStage:
    """One filling of a box of 100 × 100 mm."""
    return worked_out([stage("fill", sheet)], shapes=[shape(100, 100, depth)], **about).stages[0]


def codes(remarks: Iterable[Remark]) -> set[str]:
    return {remark.code for remark in remarks}

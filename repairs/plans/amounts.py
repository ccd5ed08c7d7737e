"""How much each stage takes: the cavity, its walls, the ways to fill it, and areas to coat."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import partial

from config.figures import Formula
from materials.coverage import paint_ml, sealer_ml
from materials.mixing import loss_on, mixed_density
from materials.models import SheetRevision
from properties.cavity import (
    Cavity,
    Lining,
    Shape,
    Station,
    from_poured,
    from_profile,
    from_shapes,
    lined,
)
from repairs.logbook.facts import sheet_facts
from repairs.models import Plan, PlanStage, Stage
from repairs.plans.prepared import StageAmount
from repairs.plans.reached import reached
from repairs.plans.rows import PlanRows
from repairs.remarks.sheet_limits import thickest_layer
from repairs.remarks.stage_rules import layers_for

LINED = frozenset({Plan.Filling.HOLLOW, Plan.Filling.BLOCK})
SOAKED = frozenset({Stage.Kind.TREAT, Stage.Kind.SEAL})
COATED = frozenset({Stage.Kind.PRIME, Stage.Kind.PAINT})
# Half an inch: the least layer that stands heat, and so a usual lining; common practice, no source.
USUAL_SHELL_MM = Decimal(13)
GRAM, TENTH = Decimal("0.1"), Decimal("0.1")
MOST_LAYERS = 100

LAYERS = Formula(
    words="As few equal layers as keep each within the thickness chosen, else within the sheet's "
    "greatest.",
    symbols="n = ⌈depth ÷ greatest layer⌉, layer = depth ÷ n",
    source="data sheet; for a filler without a figure 25 mm (common practice, no source)",
    holds="of a lined cavity the depth is the thickness of the shell",
)


@dataclass(frozen=True)
class Space:
    """The cavity of a plan and how it is filled; `missing` says what to enter where it is not
    known."""

    cavity: Cavity | None
    lining: Lining | None
    missing: str

    @property
    def fill_ml(self) -> Decimal | None:
        if self.cavity is None:
            return None
        return self.lining.shell_ml if self.lining else self.cavity.ml


@dataclass(frozen=True)
class Layers:
    count: int = 1
    each_mm: Decimal | None = None
    missing: str = ""


def space_of(rows: PlanRows) -> Space:
    """The cavity as it was measured, with the lining that the plan chose."""
    plan = rows.plan
    if plan.measured == Plan.Measured.NONE:
        return Space(None, None, "")
    cavity, why = reached(partial(_measured, rows))
    if cavity is not None and not cavity.ml:
        cavity, why = None, "The cavity holds next to nothing: look at its sizes and their units."
    if cavity is None:
        return Space(None, None, why)
    if plan.filling not in LINED:
        return Space(cavity, None, "")
    if plan.shell_mm is None:
        return Space(cavity, None, "Enter how thick the lining is.")
    lining, why = reached(partial(lined, cavity, plan.shell_mm))
    return Space(cavity, lining, why)


def _measured(rows: PlanRows) -> Cavity:
    plan = rows.plan
    if plan.measured == Plan.Measured.POURED:
        if plan.poured_ml is None:
            raise ValueError("Enter what the cavity took.")
        return from_poured(plan.poured_ml, plan.defect.depth_mm)
    if plan.measured == Plan.Measured.PROFILE:
        return from_profile(_stations(plan))
    if not rows.shapes:
        raise ValueError("Enter the size of the cavity, or say that there is none.")
    return from_shapes(
        Shape(
            row.shape,
            float(row.length_mm),
            float(row.width_mm),
            None if row.depth_mm is None else float(row.depth_mm),
            row.taken_off,
        )
        for row in rows.shapes
    )


def _stations(plan: Plan) -> list[Station]:
    try:
        return [Station(*(float(figure) for figure in row)) for row in plan.profile]
    except TypeError as error:
        raise ValueError("A profile has a place, a width and a depth in each row.") from error


# Layers


def layers_of(row: PlanStage, plan: Plan, cavity: Cavity | None) -> Layers:
    """In how many layers a filling goes in, by the layer typed, else by the sheet's greatest."""
    if row.kind != Stage.Kind.FILL or row.sheet is None:
        return Layers(row.coats)
    depth = plan.shell_mm if plan.filling in LINED else cavity.depth_mm if cavity else None
    by_sheet, _ = thickest_layer(sheet_facts(row.sheet))
    most = row.layer_mm or by_sheet
    if depth is None or most is None:
        missing = "" if cavity is None else "Enter the depth, or how thick one layer is."
        return Layers(row.coats, row.layer_mm, missing)
    count = layers_for(depth, most)
    if count > MOST_LAYERS:
        return Layers(1, most, f"More than {MOST_LAYERS} layers: look at the depth and the layer.")
    return Layers(count, (depth / count).quantize(Decimal("0.01")))


# Amounts


def density_of(sheet: SheetRevision) -> Decimal | None:
    """Once mixed, in g/ml: the sheet's own, else that of the two parts together."""
    if sheet.density_mixed_g_ml is not None or sheet.product.parts == 1:
        return sheet.density_mixed_g_ml or sheet.density_a_g_ml
    ratio = sheet.weight_ratio() or sheet.volume_ratio()
    if ratio is None or sheet.density_a_g_ml is None or sheet.density_b_g_ml is None:
        return None
    return mixed_density(ratio, sheet.density_a_g_ml, sheet.density_b_g_ml)


def amount_of(row: PlanStage, plan: Plan, space: Space) -> tuple[StageAmount | None, str]:
    """What a stage takes, its loss included; None and what to enter where it is not known."""
    if row.sheet is None:
        return None, ""
    if row.kind == Stage.Kind.FILL:
        if space.fill_ml is None:
            return None, space.missing or "Say how large the cavity is."
        return _with_loss(space.fill_ml, row.sheet, plan, _filled_words(plan))
    if row.kind in SOAKED:
        net, why = _soaked(row, row.sheet, plan, space.cavity)
    elif row.kind in COATED:
        net, why = _coated(row, row.sheet, plan)
    else:
        return None, ""
    if net is None:
        return None, why
    coats = "1 coat" if row.coats == 1 else f"{row.coats} coats"
    return _with_loss(net, row.sheet, plan, f"{coats}, by what a litre covers")


def walls_of(plan: Plan, cavity: Cavity | None) -> tuple[Decimal | None, Decimal | None]:
    """End grain and side grain to seal in mm²: as typed, else the walls of the cavity."""
    end, side = plan.end_grain_mm2, plan.side_grain_mm2
    return (
        end if end is not None or cavity is None else cavity.end_mm2,
        side if side is not None or cavity is None else cavity.side_mm2,
    )


def _soaked(
    row: PlanStage, sheet: SheetRevision, plan: Plan, cavity: Cavity | None
) -> tuple[Decimal | None, str]:
    end, side = walls_of(plan, cavity)
    if end is None and side is None:
        return None, "Enter the areas of end grain and side grain to seal."
    if sheet.coverage_m2_per_l is None:
        return None, f"The sheet of {sheet.product} does not say what a litre covers."
    nothing = Decimal(0)
    return reached(
        partial(
            sealer_ml,
            end or nothing,
            side or nothing,
            sheet.coverage_end_grain_m2_per_l,
            sheet.coverage_m2_per_l,
            row.coats,
        )
    )


def _coated(row: PlanStage, sheet: SheetRevision, plan: Plan) -> tuple[Decimal | None, str]:
    if plan.paint_m2 is None:
        return None, "Enter the area to paint."
    if sheet.coverage_m2_per_l is None:
        return None, f"The sheet of {sheet.product} does not say what a litre covers."
    return reached(partial(paint_ml, plan.paint_m2, sheet.coverage_m2_per_l, row.coats))


def _filled_words(plan: Plan) -> str:
    return "the lining of the cavity" if plan.filling in LINED else "the whole cavity"


def _with_loss(
    net_ml: Decimal, sheet: SheetRevision, plan: Plan, basis: str
) -> tuple[StageAmount | None, str]:
    """The net volume with its weight, and what stays in cup and brush."""
    loss_pct = plan.loss_pct or Decimal(0)
    loss_ml, why = reached(partial(loss_on, net_ml, loss_pct))
    if loss_ml is None:
        return None, why
    density = density_of(sheet)
    return (
        StageAmount(
            net_g=None if density is None else _tenth(net_ml * density),
            loss_g=None if density is None else _tenth(loss_ml * density),
            ml=_tenth(net_ml),
            basis=basis,
            loss_ml=_tenth(loss_ml),
        ),
        "" if density is not None else _no_density(sheet),
    )


def _no_density(sheet: SheetRevision) -> str:
    return f"No density of {sheet.product} is recorded, so that no weight can be told."


def _tenth(number: Decimal) -> Decimal:
    return number.quantize(TENTH)

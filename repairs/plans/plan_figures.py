"""Every computed figure of a plan as the page shows it, in the reader's units, to be opened."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from config.figures import Figure, Formula, figure
from config.quantities import UnitSystem
from materials.mixing import LOSS
from properties.cavity import LINING, POURED, PROFILE, SHAPES, Cavity
from properties.heat import MARGIN_K, MARGIN_SOURCE
from properties.weather_figures import surface_figure
from repairs.cure_series import READY
from repairs.models import Plan
from repairs.plans.amounts import LINED, walls_of
from repairs.plans.figure_words import Words, moment, span, told
from repairs.plans.money_figures import (
    OptionFigures,
    StockFigures,
    break_even_figure,
    cost_figure,
    options_figures,
    spread_figure,
    stock_figures,
    total_figure,
)
from repairs.plans.prepared import Filling, Prepared, RankedProduct
from repairs.plans.rows import PlanRows
from repairs.plans.stage_figures import StageFigures, stage_figures

__all__ = [
    "FillingFigures", "OptionFigures", "PlanFigures", "StageFigures", "StockFigures", "figures_of",
]  # fmt: skip

MEASURED = {
    Plan.Measured.SHAPES: SHAPES,
    Plan.Measured.PROFILE: PROFILE,
    Plan.Measured.POURED: POURED,
}
WALLS = Formula(
    words="The walls of the cavity across the grain, and those along it, unless they are typed.",
    symbols="A = Σ of the walls of each shape",
    source="solid geometry; the grain runs along the length",
    holds="faces that two shapes share are counted in both",
)
FILLING_MASS = Formula(
    words="The amount to mix, its loss included, times its density once mixed.",
    symbols="m = ρ × V",
    source="data sheet",
    holds="the timber of a block apart",
)
FILLING_COST = Formula(
    words="The amount to mix, at what a millilitre of the product costs this plan on average.",
    symbols="cost = V × cost of the product ÷ its volume in this plan",
    source="prices as recorded with the lots and the packs",
)
MARGIN = Formula(
    words="How far the product's heat deflection temperature lies above what the face is expected "
    "to reach.",
    symbols="margin = T_HDT − T_surface; 10 K or more is wanted",
    source=f"data sheet; {MARGIN_SOURCE}",
)


@dataclass(frozen=True)
class FillingFigures:
    """One of `Prepared.fillings`, in its order."""

    kind: str
    words: str
    chosen: bool
    ml: Figure
    mass: Figure
    cost: Figure


@dataclass(frozen=True)
class PlanFigures:
    """None where there is nothing to say; a figure out of range carries the remark."""

    cavity: Figure | None = None
    end_grain: Figure | None = None
    side_grain: Figure | None = None
    fillings: tuple[FillingFigures, ...] = ()
    stages: tuple[StageFigures, ...] = ()
    stock: tuple[StockFigures, ...] = ()
    face: Figure | None = None
    ranking: tuple[Figure, ...] = ()
    costs: tuple[Figure, ...] = ()
    total: Figure | None = None
    options: tuple[OptionFigures, ...] = ()
    break_even: Figure | None = None
    spread: Figure | None = None
    ready: Figure | None = None


def figures_of(prepared: Prepared, rows: PlanRows, units: UnitSystem | str) -> PlanFigures:
    """In the order of what they belong to."""
    words, compared = Words(units, prepared.currency), prepared.comparison
    return PlanFigures(
        cavity=_cavity(prepared, rows, words),
        end_grain=_wall("End grain to seal", 0, prepared, rows, words),
        side_grain=_wall("Side grain to seal", 1, prepared, rows, words),
        fillings=tuple(_filling(each, prepared, rows, words) for each in prepared.fillings),
        stages=tuple(stage_figures(each, prepared, rows, words) for each in prepared.stages),
        stock=tuple(stock_figures(each, words) for each in prepared.stock),
        face=surface_figure(prepared.face, units) if prepared.face else None,
        ranking=tuple(_margin(each, prepared, words) for each in prepared.ranking),
        costs=tuple(
            cost_figure(line, words, material=number < len(prepared.stock))
            for number, line in enumerate(prepared.costs)
        ),
        total=total_figure(prepared, words),
        options=options_figures(compared, words) if compared else (),
        break_even=break_even_figure(compared) if compared else None,
        spread=spread_figure(compared, words) if compared else None,
        ready=_ready(prepared, words),
    )


def _cavity(prepared: Prepared, rows: PlanRows, words: Words) -> Figure | None:
    plan, cavity = rows.plan, prepared.cavity
    if plan.measured == Plan.Measured.NONE:
        return None
    if cavity is None:
        return told("Cavity", words.sentence(prepared.missing[0])) if prepared.missing else None
    formula = MEASURED[Plan.Measured(plan.measured)]
    return figure("Cavity", words.amount(cavity.ml, "ml"), formula, *_measured(cavity, plan, words))


def _measured(cavity: Cavity, plan: Plan, words: Words) -> list[tuple[str, str]]:
    inputs = [
        (
            ("less " if shape.taken_off else "") + shape.kind.replace("_", "-"),
            " × ".join(
                words.length(size)
                for size in (shape.length_mm, shape.width_mm, shape.depth_mm)
                if size is not None
            ),
        )
        for shape in cavity.shapes
    ]
    inputs += [
        (
            f"at {words.length(each.at_mm)}",
            f"{words.length(each.width_mm)} × {words.length(each.depth_mm)}",
        )
        for each in cavity.stations
    ]
    if plan.measured == Plan.Measured.POURED:
        inputs.append(("Poured in", words.amount(plan.poured_ml, "ml")))
    inputs.append(("Depth", words.length(cavity.depth_mm)))
    return inputs


def _wall(name: str, which: int, prepared: Prepared, rows: PlanRows, words: Words) -> Figure | None:
    plan, cavity = rows.plan, prepared.cavity
    area = walls_of(plan, cavity)[which]
    typed = (plan.end_grain_mm2, plan.side_grain_mm2)[which]
    if area is None or (cavity is None and typed is None):
        return None
    if typed is not None:
        return Figure(value=words.area(area), name=name, source="entered with this plan")
    assert cavity is not None
    return figure(name, words.area(area), WALLS, *_measured(cavity, plan, words))


def _filling(filling: Filling, prepared: Prepared, rows: PlanRows, words: Words) -> FillingFigures:
    plan, cavity = rows.plan, prepared.cavity
    # How the cavity itself was reckoned opens with the cavity.
    formula = LINING if filling.kind in LINED else LOSS
    inputs = [
        ("Cavity", words.amount(cavity.ml if cavity else None, "ml")),
        ("Loss", f"{(plan.loss_pct or Decimal(0)).normalize():f} %"),
    ]
    if filling.kind in LINED:
        inputs.append(("Shell", words.length(filling.shell_mm)))
    taken = ("Amount", words.amount(filling.ml, "ml"))
    return FillingFigures(
        filling.kind,
        filling.words,
        filling.chosen,
        figure(filling.words, words.amount(filling.ml, "ml"), formula, *inputs),
        figure(filling.words, words.amount(filling.mass_g, "g"), FILLING_MASS, taken),
        figure(filling.words, words.money(filling.cost_minor), FILLING_COST, taken),
    )


def _margin(ranked: RankedProduct, prepared: Prepared, words: Words) -> Figure:
    name, face = str(ranked.sheet.product), prepared.face
    if ranked.margin_k is None or face is None:
        what = "how light or dark the finish is" if face is None else "its heat deflection"
        return told(name, f"Not known: {what} is not recorded.")
    return figure(
        name,
        words.kelvin(ranked.margin_k),
        MARGIN,
        ("Heat deflection temperature", words.heat(ranked.sheet.heat_deflection_c)),
        ("Method", ranked.sheet.heat_deflection_method or "not recorded"),
        ("The face", f"{words.heat(face.celsius)}, {words.sentence(face.basis)}"),
        ("Wanted", f"{words.kelvin(MARGIN_K)} or more"),
    )


def _ready(prepared: Prepared, words: Words) -> Figure | None:
    if not prepared.stages:
        return None
    if prepared.ready_at is None:
        return told("Ready", words.sentence(_never_ready(prepared)))
    inputs = [
        (each.row.get_kind_display(), moment(each.days.begins_at))
        for each in prepared.stages
        if each.days
    ]
    taken = ("Takes", span(prepared.takes))
    return figure("Ready", moment(prepared.ready_at), READY, *inputs, taken)


def _never_ready(prepared: Prepared) -> str:
    for each in prepared.stages:
        if each.days and each.days.begins_at is None:
            return each.days.why
        if each.days and each.days.cure and each.days.cure.ready_at is None:
            return f"{each.product} does not cure in that air."
    return "Not known."

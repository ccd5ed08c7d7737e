"""What only a plan can be told: of its cavity, its layers, its day and its money."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from functools import partial

from materials.fill_heat import LIMIT_C, LIMIT_SOURCE, TOLD_UP_TO_C, WHY_LINING
from materials.money import show_money
from properties.cavity import Cavity
from properties.drying import drying_guide
from properties.heat import ExpectedSurface
from properties.models import Member
from repairs.logbook.facts import sheet_facts
from repairs.models import Plan, PlanOption, Repair, Stage
from repairs.plans.air import PlannedAir
from repairs.plans.amounts import USUAL_SHELL_MM
from repairs.plans.prepared import Prepared, PreparedStage
from repairs.plans.reached import reached
from repairs.plans.rows import PlanRows
from repairs.plans.starting import OPTION_OF
from repairs.remarks import Remark
from repairs.remarks.limits import PRACTICE
from repairs.remarks.sheet_limits import wettest_wood
from repairs.remarks.words import amount, degrees, instant, number

ARITHMETIC = "worked out here"
# How far a typed cost may lie from the one worked out before it is said; common practice.
COST_DIFFERS = Decimal("0.2")


def of_stage(stage: PreparedStage, face: ExpectedSurface | None) -> Iterator[Remark]:
    yield from _thin_for_heat(stage, face)
    yield from _hot_while_curing(stage)


def of_plan(rows: PlanRows, prepared: Prepared, air: PlannedAir, at: datetime) -> Iterator[Remark]:
    if prepared.cavity is not None:
        yield from _cavity_too_big(prepared.cavity, rows.member)
    yield from _day_past(rows.plan, at)
    yield from _drying(rows, prepared, air)
    yield from _option_differs(rows, prepared)


def _thin_for_heat(stage: PreparedStage, face: ExpectedSurface | None) -> Iterator[Remark]:
    """A filling thinner than half an inch on a face of which the heat is known, with a product
    that stands heat and whose sheet gives no least layer."""
    sheet, layer = stage.sheet, stage.layer_mm
    if sheet is None or layer is None or face is None or stage.row.kind != Stage.Kind.FILL:
        return
    if sheet.heat_deflection_c is None or sheet.layer_min_mm is not None:
        return
    if layer >= USUAL_SHELL_MM:
        return
    yield Remark(
        "layer-thin-for-heat",
        "note",
        f"A layer of {number(layer)} mm.",
        f"at least {number(USUAL_SHELL_MM)} mm to stand heat",
        PRACTICE,
        "Cut a deeper seat, so that the sun does not lift a thin edge.",
        about=str(sheet.product),
    )


def _hot_while_curing(stage: PreparedStage) -> Iterator[Remark]:
    """An estimate, so only a note; the data sheet's greatest layer rules."""
    sheet, heat = stage.sheet, stage.heat
    if sheet is None or heat is None or stage.layer_mm is None or heat.peak_c <= LIMIT_C:
        return
    most = sheet.layer_max_mm
    by_sheet = (
        f"The data sheet allows up to {number(most)} mm, so try it on scrap first, or lay"
        if most is not None and stage.layer_mm <= most
        else "Lay"
    )
    over = "over " if heat.beyond_telling else ""
    reached = f"{over}{degrees(Decimal(str(min(heat.peak_c, TOLD_UP_TO_C))))}"
    yield Remark(
        "hot-while-curing",
        "note",
        f"A layer of {number(stage.layer_mm)} mm may reach {reached} while it cures.",
        f"at most {degrees(Decimal(str(LIMIT_C)))}",
        LIMIT_SOURCE,
        f"An estimate. {by_sheet} thinner layers, or line the cavity. {WHY_LINING}",
        about=str(sheet.product),
    )


def _cavity_too_big(cavity: Cavity, member: Member) -> Iterator[Remark]:
    """A measure of the cavity beyond that of the member, or more volume than the member has."""
    section = [size for size in (member.width_mm, member.depth_mm) if size is not None]
    thickest = max(section, default=None)
    longest = max((Decimal(str(shape.length_mm)) for shape in cavity.shapes), default=None)
    found = ""
    if thickest is not None and cavity.depth_mm is not None and cavity.depth_mm > thickest:
        found = (
            f"The cavity is {number(cavity.depth_mm)} mm deep, and the member "
            f"{number(thickest)} mm thick."
        )
    elif member.length_mm is not None and longest is not None and longest > member.length_mm:
        long = number(member.length_mm)
        found = f"The cavity is {number(longest)} mm long, and the member {long} mm."
    elif len(section) == 2 and member.length_mm is not None:
        whole = section[0] * section[1] * member.length_mm / 1000
        if cavity.ml > whole:
            found = f"The cavity holds {amount(cavity.ml, 'ml')}, the member {amount(whole, 'ml')}."
    if found:
        yield Remark(
            "cavity-too-big",
            "warning",
            found,
            "no larger than the member",
            "the sizes recorded for this member",
            "Look at the figures and their units, or correct the sizes of the member.",
        )


def _day_past(plan: Plan, at: datetime) -> Iterator[Remark]:
    if plan.starts_at >= at:
        return
    yield Remark(
        "start-past",
        "note",
        f"Work was to start {instant(plan.starts_at.astimezone(at.tzinfo))}.",
        "",
        ARITHMETIC,
        "Set a new day, so that lots, weather and times are those of the work.",
    )


def _drying(rows: PlanRows, prepared: Prepared, air: PlannedAir) -> Iterator[Remark]:
    """How long wood that is too wet may take to dry, as a rough guide."""
    now, wanted = rows.plan.wood_moisture_pct, _wettest(prepared)
    thick = rows.member.depth_mm or rows.member.width_mm
    if now is None or now <= wanted or thick is None:
        return
    if air.day_c is None or air.humidity_pct is None:
        return
    figures = (float(each) for each in (now, wanted, thick, air.day_c, air.humidity_pct))
    guide, _ = reached(partial(drying_guide, *figures))
    if guide is None:
        return
    found = f"In that air wood does not dry to {number(wanted)} %."
    if guide.days_low is not None and guide.days_high is not None:
        found = (
            f"Wood of {number(now)} % takes roughly {guide.days_low:.0f} to "
            f"{guide.days_high:.0f} days to dry to {number(wanted)} %."
        )
    yield Remark("drying", "note", found, "", f"{PRACTICE}: a rough guide", guide.basis)


def _wettest(prepared: Prepared) -> Decimal:
    """The wood moisture that the strictest sheet of the plan allows, else the usual one."""
    limit, _ = wettest_wood(sheet_facts(each.sheet) for each in prepared.stages if each.sheet)
    return limit


def _option_differs(rows: PlanRows, prepared: Prepared) -> Iterator[Remark]:
    """The cost worked out against what was typed for this way of doing it."""
    total = prepared.total_minor
    kind = OPTION_OF.get(Repair.Kind(rows.plan.kind))
    option = next((each for each in rows.options if each.kind == kind), None)
    if total is None or option is None:
        return
    typed = option.first_minor + option.access_minor
    if abs(total - typed) <= COST_DIFFERS * max(typed, 1):
        return
    currency = prepared.currency
    yield Remark(
        "option-differs",
        "note",
        f"This plan comes to {show_money(total, currency)}, and {show_money(typed, currency)} is "
        f"compared for “{PlanOption.Kind(option.kind).label.lower()}”.",
        "",
        ARITHMETIC,
        "Compare with the figure that you trust more.",
    )

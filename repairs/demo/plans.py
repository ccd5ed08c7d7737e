"""The example's planned repairs: a decayed end of a sill, a door to be painted, and what was
planned of repairs done since."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from properties.models import Defect
from repairs.models import Plan, PlanOption, PlanShape, Stage
from repairs.plans.keep import save_plan
from repairs.plans.rows import PlanRows
from repairs.plans.starting import starting_rows

if TYPE_CHECKING:
    from django.contrib.auth.models import User

FILLED_MARK, PAINTED_MARK = "N-SILL-02", "E-DOOR-01"
# First cost, life with its worst and best, upkeep and repaint: all invented. Pounds and years.
OPTIONS = (
    (PlanOption.Kind.REPAIR, 222, (12, 7, 18), 8, 90),
    (PlanOption.Kind.SPLICE, 520, (20, 12, 30), 8, 90),
    (PlanOption.Kind.REPLACE, 980, (30, 20, 40), 6, 90),
    (PlanOption.Kind.WATCH, 0, (2, 1, 3), 45, 0),
)
ACCESS_MINOR = 6000
REPAINT_YEARS = Decimal(6)
DAYS_BEFORE = 14
REPAIR_MINOR = 17500
# Twice this fills it; in one go it would grow too hot.
LAYER_MM = Decimal(15)


def plan_ahead(at: datetime, crew: User) -> None:
    for rows in (_fill(at), _repaint(at)):
        save_plan(rows, crew, at)


def plan_before(defect: Defect, began: datetime, hours: Decimal, crew: User) -> Plan:
    """What was planned of a repair that was then done: a box to fill, and each way priced."""
    made_at = began - timedelta(days=DAYS_BEFORE)
    rows = starting_rows(defect, made_at)
    plan = _in_mild_weather(rows.plan, days_ahead=DAYS_BEFORE)
    plan.measured, plan.wood_moisture_pct = Plan.Measured.SHAPES, Decimal("13.0")
    # What access there was is paid for apart from the repair.
    plan.labour_hours, plan.access_minor = hours, 0
    options = _options(plan, access_minor=0)
    options[0].first_minor = REPAIR_MINOR
    box = PlanShape(
        plan=plan, position=1, shape=PlanShape.Shape.BOX, length_mm=Decimal(100),
        width_mm=Decimal(70), depth_mm=Decimal(25),
    )  # fmt: skip
    return save_plan(PlanRows(plan, (box,), rows.stages, options), crew, made_at)


def _fill(at: datetime) -> PlanRows:
    """A decayed end, opened up to a box and a wedge that runs out of it."""
    rows = starting_rows(_open_defect(FILLED_MARK), at)
    plan = _in_mild_weather(rows.plan, days_ahead=2)
    plan.measured = Plan.Measured.SHAPES
    plan.labour_hours, plan.access_minor = Decimal(6), ACCESS_MINOR
    plan.wood_moisture_pct = Decimal("13.5")
    plan.notes = "Open up beyond the soft wood first; the joint above is to be sealed before."
    plan.scale_step_g = Decimal("0.1")
    for stage in rows.stages:
        if stage.kind == Stage.Kind.FILL:
            stage.layer_mm = LAYER_MM
    return PlanRows(plan, _cavity(plan), rows.stages, _options(plan))


def _cavity(plan: Plan) -> tuple[PlanShape, ...]:
    box, wedge = PlanShape.Shape.BOX, PlanShape.Shape.WEDGE
    return tuple(
        PlanShape(
            plan=plan,
            position=position,
            shape=shape,
            length_mm=Decimal(length),
            width_mm=Decimal(width),
            depth_mm=Decimal(depth),
        )
        for position, (shape, length, width, depth) in enumerate(
            ((box, 140, 70, 30), (wedge, 60, 70, 30)), start=1
        )
    )


def _options(plan: Plan, access_minor: int = ACCESS_MINOR) -> tuple[PlanOption, ...]:
    return tuple(
        PlanOption(
            plan=plan,
            kind=kind,
            first_minor=first * 100,
            access_minor=0 if kind == PlanOption.Kind.WATCH else access_minor,
            life_years=Decimal(life),
            life_low_years=Decimal(worst),
            life_high_years=Decimal(best),
            upkeep_minor=upkeep * 100,
            repaint_minor=repaint * 100,
            repaint_years=REPAINT_YEARS if repaint else None,
        )
        for kind, first, (life, worst, best), upkeep, repaint in OPTIONS
    )


def _repaint(at: datetime) -> PlanRows:
    rows = starting_rows(_open_defect(PAINTED_MARK), at)
    plan = _in_mild_weather(rows.plan, days_ahead=9)
    plan.labour_hours, plan.access_minor = Decimal("3.5"), 0
    plan.wood_moisture_pct = Decimal("14.0")
    return PlanRows(plan, stages=rows.stages)


def _open_defect(mark: str) -> Defect:
    return Defect.objects.filter(member__mark=mark, state=Defect.State.OPEN).latest("found_on")


def _in_mild_weather(plan: Plan, days_ahead: int) -> Plan:
    """So many days from now, by air as it could be forecast."""
    plan.starts_at += timedelta(days=days_ahead - 1)
    plan.air_day_c, plan.air_night_c = Decimal(19), Decimal(12)
    plan.humidity_pct = Decimal(48)
    return plan

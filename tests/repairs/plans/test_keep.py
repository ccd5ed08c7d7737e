"""A plan is saved whole or not at all, and dropped with a reason."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from repairs.models import Plan, PlanOption, PlanShape, PlanStage, Repair, Stage
from repairs.plans.keep import drop_plan, save_plan
from repairs.plans.rows import PlanRows
from repairs.plans.starting import starting_rows
from tests.factories import (
    MORNING,
    DefectFactory,
    LotFactory,
    ProductFactory,
    RepairFactory,
    SheetRevisionFactory,
    make_crew,
)

pytestmark = pytest.mark.django_db


def rows_for(**plan) -> PlanRows:
    defect = DefectFactory(length_mm=200, width_mm=60, depth_mm=40)
    made = Plan(defect=defect, starts_at=MORNING, **plan)
    shape = PlanShape(plan=made, length_mm=200, width_mm=60, depth_mm=40)
    stages = (PlanStage(plan=made, kind="open_up"), PlanStage(plan=made, kind="paint"))
    option = PlanOption(plan=made, kind="repair", first_minor=42000, life_years=10)
    return PlanRows(made, (shape,), stages, (option,))


def test_a_plan_is_saved_with_its_rows_in_order():
    crew = make_crew()
    plan = save_plan(rows_for(), crew, MORNING)
    kept = PlanRows.of(Plan.objects.whole().get(pk=plan.pk))
    assert kept.plan.made_by == crew
    assert [stage.kind for stage in kept.stages] == ["open_up", "paint"]
    assert len(kept.shapes) == len(kept.options) == 1


def test_one_form_sent_twice_makes_one_plan():
    first = rows_for()
    plan = save_plan(first, None, MORNING)
    again = rows_for(submission=first.plan.submission)
    again.plan.defect = first.plan.defect
    assert save_plan(again, None, MORNING) == plan
    assert Plan.objects.count() == 1


def test_a_changed_plan_takes_new_rows_in_place_of_the_old():
    plan = save_plan(rows_for(), None, MORNING)
    changed = PlanRows(plan, (), (PlanStage(plan=plan, kind="seal"),), ())
    save_plan(changed, None, MORNING)
    kept = PlanRows.of(Plan.objects.get(pk=plan.pk))
    assert ([stage.kind for stage in kept.stages], kept.shapes, kept.options) == (["seal"], (), ())


def test_a_row_that_is_wrong_leaves_the_plan_as_it_was():
    plan = save_plan(rows_for(), None, MORNING)
    bad = PlanStage(plan=plan, kind="seal", coats=11)
    with pytest.raises(ValidationError):
        save_plan(PlanRows(plan, (), (bad,), ()), None, MORNING)
    assert Plan.objects.get(pk=plan.pk).stages.count() == 2


def test_a_plan_that_was_dropped_is_not_changed():
    plan = save_plan(rows_for(), None, MORNING)
    drop_plan(plan, "The owner sells", make_crew())
    with pytest.raises(ValidationError, match="dropped"):
        save_plan(PlanRows(plan), None, MORNING)
    with pytest.raises(ValidationError, match="dropped"):
        drop_plan(plan, "Twice", None)


def test_a_plan_is_dropped_only_with_a_reason():
    plan = save_plan(rows_for(), None, MORNING)
    with pytest.raises(ValidationError):
        drop_plan(plan, "  ", None)
    assert Plan.objects.get(pk=plan.pk).is_still_planned()


def test_a_logged_plan_is_not_changed():
    plan = save_plan(rows_for(), None, MORNING)
    Plan.objects.filter(pk=plan.pk).update(state="logged", repair=RepairFactory())
    with pytest.raises(ValidationError, match="logged"):
        save_plan(PlanRows(plan), None, MORNING)


def test_a_fresh_plan_starts_from_what_the_records_know():
    defect = DefectFactory(length_mm=200, width_mm=60, depth_mm=40, member__width_mm=Decimal(150))
    old = SheetRevisionFactory(product__kind="filler")
    new = SheetRevisionFactory(product__kind="filler")
    LotFactory(product=old.product, received_on=date(2025, 5, 1))
    LotFactory(product=new.product, received_on=date(2026, 3, 1))
    rows = starting_rows(defect, MORNING)
    stages = {stage.kind: stage for stage in rows.stages}
    assert stages["fill"].sheet == new
    assert stages["seal"].sheet is None
    assert stages["paint"].coats == 2
    assert (rows.shapes[0].length_mm, rows.shapes[0].depth_mm) == (200, 40)
    assert rows.plan.paint_m2 == Decimal("0.180")
    assert rows.plan.starts_at.isoformat() == "2026-05-05T09:00:00+01:00"
    save_plan(rows, None, MORNING)


def test_an_expired_held_back_or_empty_lot_offers_no_product():
    defect = DefectFactory()
    for lot in ({"expires_on": date(2026, 5, 4)}, {"received": 0},
                {"held_back": True, "held_back_reason": "lumps"}):  # fmt: skip
        sheet = SheetRevisionFactory(product__kind="filler")
        LotFactory(product=sheet.product, **lot)
    assert all(stage.sheet is None for stage in starting_rows(defect, MORNING).stages)


def test_a_worn_coating_is_planned_as_a_repaint_without_a_cavity():
    rows = starting_rows(DefectFactory(kind="failed_coating", length_mm=10), MORNING)
    assert (rows.plan.kind, rows.plan.measured, rows.shapes) == ("repaint", "none", ())
    assert Stage.Kind.FILL not in {stage.kind for stage in rows.stages}


def test_what_nothing_is_known_of_is_left_empty():
    rows = starting_rows(DefectFactory(member__length_mm=None), MORNING + timedelta(days=1))
    assert (rows.shapes, rows.options, rows.plan.paint_m2) == ((), (), None)
    assert rows.plan.kind == Repair.Kind.RESIN
    assert ProductFactory._meta.model.objects.count() == 0

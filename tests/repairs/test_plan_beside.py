"""The page of a repair that was planned: what was foreseen beside what was done."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from materials.models import Product
from repairs.logbook.entry import BatchEntry, CostEntry, LabourEntry, PartEntry, StageEntry
from repairs.models import Batch, Plan
from tests.factories import (
    DefectFactory,
    MemberFactory,
    PlanFactory,
    PlanShapeFactory,
    PlanStageFactory,
    ProductFactory,
    SheetRevisionFactory,
    make_kit_lot,
    make_manager,
)
from tests.repairs.made_entries import NOW, entry, log

EIGHT = datetime(2026, 5, 6, 7, tzinfo=UTC)  # 08:00 on site
HOUR = timedelta(hours=1)


@pytest.fixture
def putty(db):
    product = ProductFactory(name="Invented Putty", kind=Product.Kind.FILLER)
    SheetRevisionFactory(
        product=product, density_mixed_g_ml=Decimal(1), layer_max_mm=Decimal(20),
        batch_mass_max_g=Decimal(200),
    )  # fmt: skip
    return product


@pytest.fixture
def kit(putty):
    return make_kit_lot(putty, number="K-17", a=1000, b=330, price_minor=13300)


@pytest.fixture
def plan(putty):
    """A box of 480 ml in two layers of 20 mm, 10 % lost: 533 g in three batches a layer."""
    member = MemberFactory(mark="N-SILL-03", finish_tone="white")
    plan = PlanFactory(
        defect=DefectFactory(member=member, zone="left"), zone="left", starts_at=EIGHT,
        air_day_c=Decimal(20), air_night_c=Decimal(20), humidity_pct=Decimal(50),
        scale_step_g=Decimal(1), loss_pct=Decimal(10), labour_hours=Decimal(4),
        labour_rate_minor=3000, access_minor=15000,
    )  # fmt: skip
    PlanShapeFactory(plan=plan)
    PlanStageFactory(plan=plan, position=1, kind="open_up", sheet=None)
    PlanStageFactory(plan=plan, position=2, kind="fill", sheet=putty.sheets.get())
    PlanStageFactory(plan=plan, position=3, kind="shape", sheet=None)
    return plan


def filled(kit, hours: float, a: int, b: int, mm: int) -> StageEntry:
    lots = {lot.part: lot for lot in kit.part_lots.all()}
    mixed = EIGHT + hours * HOUR
    batch = BatchEntry(
        sheet=kit.product.sheets.get(),
        basis=Batch.Basis.WEIGHT,
        typed=f"{a} g + {b} g",
        parts=(PartEntry(lots["a"], "a", Decimal(a)), PartEntry(lots["b"], "b", Decimal(b))),
        mixed_at=mixed,
        applied_at=mixed + HOUR / 4,
        air_c=Decimal(20),
    )
    return StageEntry("fill", mixed, thickness_mm=Decimal(mm), batches=(batch,))


def logged(plan, *stages, **more):
    return log(entry(plan.defect.member, *stages, plan=plan, defects=(plan.defect,), **more))


def beside(client, repair):
    if "_auth_user_id" not in client.session:
        client.force_login(make_manager())
    return client.get(repair.get_absolute_url()).context["beside"]


def test_each_stage_stands_as_planned_and_as_done(client, plan, kit):
    opened = StageEntry("open_up", EIGHT + HOUR)
    repair = logged(plan, opened, filled(kit, 2, 200, 66, 21), filled(kit, 27, 200, 66, 19))
    found = beside(client, repair)
    first, fill, shape = found.stages
    assert (first.planned.began, first.done.began) == ("6 May 2026, 08:00", "6 May 2026, 09:00")
    assert fill.planned.product == fill.done.product == str(kit.product)
    assert fill.planned.layers == "2 × 20 mm"
    assert fill.done.layers == "21 mm + 19 mm"
    assert fill.planned.amount.endswith(" g")
    assert 533 <= int(fill.planned.amount.split()[0]) <= 540
    assert fill.done.amount == "532 g"
    assert (fill.planned.batches, fill.done.batches) == ("4", "2")
    assert shape.done is None
    assert found.not_done == "not done"


def test_times_of_the_plan_are_those_of_its_own_weather(client, plan, kit):
    """At the sheet's own 20 °C: filled at once, again after 24 h, and cured 24 h later."""
    fill = beside(client, logged(plan, filled(kit, 2, 100, 33, 20))).stages[1]
    assert fill.planned.began == "6 May 2026, 08:00"
    assert fill.planned.ready == "8 May 2026, 08:00"
    assert fill.done.ready == "7 May 2026, 10:00"


def test_a_planned_material_has_the_price_of_what_was_used(client, plan, kit):
    """1,330 g for GBP 133.00: ten pence a gram."""
    fill = beside(client, logged(plan, filled(kit, 2, 100, 33, 20))).stages[1]
    grams = int(fill.planned.amount.split()[0])
    assert fill.done.cost == "GBP 13.30"
    assert fill.planned.cost == f"GBP {grams / 10:.2f}"


def test_what_the_plan_says_does_not_change_with_the_stores(client, plan, kit):
    repair = logged(plan, filled(kit, 2, 100, 33, 20))
    before = beside(client, repair).stages[1].planned
    for lot in kit.part_lots.all():
        lot.move("discarded", -lot.remaining(), NOW, None)
    assert beside(client, repair).stages[1].planned == before


def test_labour_and_access_stand_beside_each_other(client, plan, kit):
    repair = logged(
        plan,
        filled(kit, 2, 100, 33, 20),
        labour=(LabourEntry("Robin", Decimal("5.5"), 3000),),
        costs=(CostEntry("access", "Tower", 18000, "GBP"),),
    )
    labour, access = beside(client, repair).money
    assert (labour.planned, labour.done) == ("GBP 120.00", "GBP 165.00")
    assert (access.planned, access.done) == ("GBP 150.00", "GBP 180.00")


def test_what_is_not_known_is_said(client, plan, kit):
    Plan.objects.update(labour_hours=None, access_minor=None)
    repair = logged(plan, StageEntry("open_up", EIGHT))
    found = beside(client, repair)
    assert {line.planned for line in found.money} == {"not known"}
    assert {line.done for line in found.money} == {"not known"}
    assert found.stages[1].planned.cost == "not known"


def test_another_product_and_a_stage_that_no_plan_foresaw(client, plan, kit):
    other = ProductFactory(name="Other Putty", kind=Product.Kind.FILLER)
    SheetRevisionFactory(product=other)
    dry = StageEntry("dry", EIGHT, ended_at=EIGHT + HOUR)
    repair = logged(plan, dry, filled(make_kit_lot(other), 2, 100, 33, 20))
    found = beside(client, repair)
    assert found.stages[1].done.product == str(other)
    assert [each.words for each in found.stages if each.planned is None] == ["Dry"]
    words = " ".join(client.get(repair.get_absolute_url()).content.decode().split())
    assert "Dry: not planned" in words


def test_of_a_repair_in_work_the_rest_is_not_done_so_far(client, plan, kit):
    repair = logged(plan, StageEntry("open_up", EIGHT), finished=False)
    assert beside(client, repair).not_done == "not done so far"


def test_a_repair_without_a_plan_says_nothing_of_one(client, plan, kit):
    repair = log(entry(plan.defect.member, StageEntry("open_up", EIGHT)))
    assert beside(client, repair) is None
    assert "Planned and done" not in client.get(repair.get_absolute_url()).content.decode()


def test_the_page_shows_it_in_the_readers_units(client, plan, kit):
    repair = logged(plan, filled(kit, 2, 100, 33, 20))
    place = plan.defect.member.building.property
    place.unit_system = "us"
    place.save()
    assert "in" in beside(client, repair).stages[1].planned.layers
    words = " ".join(client.get(repair.get_absolute_url()).content.decode().split())
    assert "Planned and done" in words
    assert beside(client, repair).stages[1].planned.layers in words


def test_the_page_asks_as_often_for_a_plan_of_many_stages(client, plan, kit):
    repair = logged(plan, filled(kit, 2, 100, 33, 20))
    beside(client, repair)
    with CaptureQueriesContext(connection) as few:
        beside(client, repair)
    sheet = plan.stages.get(kind="fill").sheet
    for position in range(4, 14):
        PlanStageFactory(plan=plan, position=position, kind="fill", sheet=sheet)
        PlanShapeFactory(plan=plan, position=100 + position)
    with CaptureQueriesContext(connection) as many:
        beside(client, repair)
    assert len(many) == len(few)

"""What was planned against what was spent, and what repair saved, worked out by hand."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from properties.models import Building
from repairs.costs.account_figures import percent_over, share_over
from repairs.costs.period import Period
from repairs.costs.planned import MOST_PLANS, planned_against_spent
from repairs.models import CostLine
from tests.factories import (
    BatchFactory,
    BatchPartFactory,
    BatchShareFactory,
    BuildingFactory,
    CostLineFactory,
    LotFactory,
    MemberFactory,
    PlanStageFactory,
    ProductFactory,
    RepairFactory,
    SheetRevisionFactory,
    StageFactory,
    make_manager,
)
from tests.repairs.cost_world import make_world, option, plan_of

pytestmark = pytest.mark.django_db

LIFETIME = Period()


def compared(period: Period = LIFETIME):
    return planned_against_spent(Building.objects.all(), period, CostLine.objects.all())


@pytest.fixture
def manager(client):
    client.force_login(make_manager())
    return client


def done(member=None, **facts):
    member = member or MemberFactory()
    repair = RepairFactory(member=member, state="finished", **facts)
    CostLineFactory(building=member.building, member=member, repair=repair, amount_minor=30000)
    return repair


def test_labour_and_access_planned_stand_against_all_that_was_spent() -> None:
    """20 h at 10.00 and 50.00 of access are 250.00; 300.00 less a credit of 30.00 was spent."""
    plan_of(make_world().resin)

    (told,) = compared().priced

    assert (told.planned_minor, told.spent.minor) == (25000, 27000)


def test_planned_material_counts_at_what_the_lots_that_were_used_cost() -> None:
    """1 m² of paint at 100 ml/m² was planned, 50 ml was used for 5.00: 10.00 of material, with
    250.00 of labour and access."""
    product = ProductFactory(kind="paint", parts=1)
    sheet = SheetRevisionFactory(product=product, density_a_g_ml=Decimal(1),
                                 coverage_m2_per_l=Decimal(10))  # fmt: skip
    repair = RepairFactory(state="finished", kind="repaint")
    stage = StageFactory(repair=repair, kind="paint")
    batch = BatchFactory(sheet=sheet, mixed_for=stage)
    lot = LotFactory(product=product, unit="ml", part="one")
    BatchPartFactory(batch=batch, part="one", lot=lot, amount=Decimal(50))
    BatchShareFactory(batch=batch, stage=stage, amount=Decimal(50))
    CostLineFactory(
        building=repair.member.building, member=repair.member, repair=repair, stage=stage,
        batch=batch, kind="material", amount_minor=500,
    )  # fmt: skip
    plan = plan_of(repair, paint_m2=Decimal(1), loss_pct=Decimal(0))
    PlanStageFactory(plan=plan, position=1, kind="paint", sheet=sheet)

    (told,) = compared().repairs

    assert told.reckoned.material == 1000
    assert told.planned_minor == 26000


def test_what_the_plan_does_not_price_is_taken_from_the_option_as_typed() -> None:
    plan = plan_of(done(), labour_rate_minor=None)
    option(plan, "repair", 20000, 6000)
    option(plan, "replace", 98000, 6000)

    (told,) = compared().priced

    assert (told.planned_minor, told.saved_minor) == (26000, 74000)


def test_a_plan_without_prices_is_told_as_such_and_kept_out_of_the_total(manager) -> None:
    building = BuildingFactory()
    plan_of(done(MemberFactory(building=building)))
    plan_of(done(MemberFactory(building=building)), access_minor=None)

    page = manager.get(reverse("cost-building", args=[building.pk])).content.decode()

    assert "Total of those priced" in page
    assert "1 planned repair was not priced, and not counted in the total." in page
    assert page.count("20 % over") == 2 + 2  # the row and the total, and inside their figures


def test_a_repair_that_cost_more_than_a_new_member_says_so(manager) -> None:
    """A new member for 250.00 and 20.00 of access against 300.00: 30.00 more."""
    repair = done()
    option(plan_of(repair), "replace", 25000, 2000)

    page = manager.get(reverse("cost-building", args=[repair.member.building_id])).content.decode()

    assert "cost more" in page
    assert "<summary>−30.00</summary>" in page


def test_a_replacement_saves_nothing_against_itself() -> None:
    option(plan_of(done(kind="replacement")), "replace", 98000)

    (told,) = compared().repairs

    assert told.saved_minor is None


def test_what_is_not_done_or_cost_nothing_on_record_is_counted_and_not_compared() -> None:
    plan_of(done())
    plan_of(RepairFactory(state="in_work"))
    plan_of(RepairFactory(state="finished"))
    plan_of(RepairFactory(state="withdrawn"))

    told = compared()

    assert (len(told.repairs), told.in_work, told.without_lines) == (1, 1, 1)


def test_a_repair_is_told_by_the_day_on_site_that_it_began(manager) -> None:
    """Half past midnight on 1 April in London is 31 March in UTC."""
    from datetime import UTC, datetime

    plan_of(done(began_at=datetime(2026, 3, 31, 23, 30, tzinfo=UTC)))

    assert len(compared(Period(date(2026, 4, 1), date(2026, 4, 30))).repairs) == 1
    assert not compared(Period(None, date(2026, 3, 31))).repairs


def test_only_so_many_are_worked_out_and_the_rest_is_said(monkeypatch) -> None:
    monkeypatch.setattr("repairs.costs.planned.MOST_PLANS", 2)
    for _ in range(3):
        plan_of(done())

    told = compared()

    assert MOST_PLANS == 100
    assert (len(told.repairs), told.older) == (2, 1)


@pytest.mark.parametrize("name", ["cost-building", "cost-property", "cost-portfolio"])
def test_more_plans_lines_and_members_ask_no_more_queries(manager, name) -> None:
    building = BuildingFactory()
    address = {
        "cost-building": reverse("cost-building", args=[building.pk]),
        "cost-property": reverse("cost-property", args=[building.property_id]),
        "cost-portfolio": reverse("cost-portfolio"),
    }[name]

    def count(repairs: int) -> int:
        for _ in range(repairs):
            repair = done(MemberFactory(building=building))
            stage = StageFactory(repair=repair)
            batch = BatchFactory(mixed_for=stage)
            BatchPartFactory(batch=batch)
            BatchShareFactory(batch=batch, stage=stage)
            plan = plan_of(repair)
            PlanStageFactory(plan=plan, position=1, sheet=batch.sheet)
            option(plan, "replace", 98000)
        manager.get(address)
        with CaptureQueriesContext(connection) as queries:
            manager.get(address)
        return len(queries)

    few, many = count(2), count(8)

    assert many == few <= 36


money = st.integers(0, 10**9)


@given(planned=money, spent=money)
def test_over_and_under_are_told_by_the_sign(planned, spent) -> None:
    words, share = percent_over(planned, spent), share_over(planned, spent)

    if planned == 0:
        assert share is None
        assert words == "nothing was planned"
    elif share == 0:
        assert abs(spent - planned) * 2000 <= planned
        assert words == "as planned"
    else:
        assert words.endswith("over" if spent > planned else "under")

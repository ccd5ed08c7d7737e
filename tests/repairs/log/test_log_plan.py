"""The log page filled in from a plan, and the plan that is then logged as done."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from materials.models import Product
from repairs.logbook.change import withdraw
from repairs.logbook.entry import RepairEntry, StageEntry
from repairs.logbook.log import Refused, log_repair
from repairs.models import Plan, Repair
from tests.factories import (
    DefectFactory,
    PlanFactory,
    PlanStageFactory,
    ProductFactory,
    SheetRevisionFactory,
    make_crew,
    make_kit_lot,
    make_manager,
    make_viewer,
)
from tests.repairs.log.form import LOG, NOW, said


@pytest.fixture
def plan(sill, resin, kit):
    """To open up and to seal 400 cm² of end grain."""
    defect = DefectFactory(member=sill, zone="left")
    sheet = resin.sheets.get()
    sheet.coverage_m2_per_l, sheet.density_mixed_g_ml = Decimal(4), Decimal("1.1")
    sheet.save()
    plan = PlanFactory(
        defect=defect, zone="left", measured="none", end_grain_mm2=Decimal(40_000),
        side_grain_mm2=Decimal(0), starts_at=datetime(2026, 5, 6, 8, tzinfo=UTC),
        scale_step_g=Decimal(1), loss_pct=Decimal(10), labour_rate_minor=3250,
    )  # fmt: skip
    PlanStageFactory(plan=plan, position=1, kind="open_up", sheet=None)
    PlanStageFactory(plan=plan, position=2, kind="seal", sheet=sheet)
    return plan


def opened(page, plan):
    return page.get(f"{LOG}?plan={plan.pk}").context["page"]


def sent(page, plan, **more):
    """What a browser sends back of the page as it was filled in, with what is typed over it."""
    typed = opened(page, plan).typed
    values = {name: typed.getlist(name) for name in typed}
    return page.post(LOG, {**values, "act": "save", **more})


def test_the_page_opens_as_it_was_planned(page, plan, kit):
    typed = opened(page, plan).typed
    assert typed["member"] == str(plan.defect.member_id)
    assert typed["zone"] == "left"
    assert typed.getlist("defects") == [str(plan.defect_id)]
    assert typed["stage-0-kind"] == "open_up"
    assert typed["stage-1-kind"] == "seal"
    assert typed["stage-1-batch-0-lot"] == str(kit.pk)
    assert typed["labour-0-rate"] == "32.50"


def test_the_amounts_are_those_of_the_plans_batches(page, plan):
    """40,000 mm² at half of 4 m² a litre are 20 ml, or 22 g, and a tenth of it for the cup: at
    100 : 33 by weight in whole grams."""
    amount = opened(page, plan).typed["stage-1-batch-0-amount"]
    a, b = (Decimal(part.split()[0]) for part in amount.split(" + "))
    assert Decimal(22) < a + b < Decimal(28)
    assert abs(b / a - Decimal("0.33")) < Decimal("0.03")
    assert amount.endswith(" g")


def test_the_page_says_where_it_comes_from_and_what_to_do(page, plan):
    words = said(page.get(f"{LOG}?plan={plan.pk}"))
    assert "Filled in from" in words
    assert f'href="{plan.get_absolute_url()}"' in words
    assert f'name="plan" value="{plan.pk}"' in words


def test_a_repair_logged_from_a_plan_is_its_repair(page, plan):
    answer = sent(page, plan, **{"stage-1-batch-0-mixed": "10:00", "stage-1-batch-0-used": "10:20"})
    repair = Repair.objects.get()
    assert answer.url == repair.get_absolute_url()
    plan.refresh_from_db()
    assert (plan.state, plan.repair) == ("logged", repair)
    assert plan.history.first().history_user == repair.entered_by


def test_a_stage_left_as_planned_was_not_done(page, plan):
    sent(page, plan, **{"stage-0-at": "09:00"})
    assert [stage.kind for stage in Repair.objects.get().stages.all()] == ["open_up"]


def test_a_stage_of_which_anything_was_changed_wants_its_time(page, plan):
    """An amount that was put right is not passed over in silence."""
    words = said(
        sent(page, plan, **{"stage-0-at": "09:00", "stage-1-batch-0-amount": "30 g + 10 g"})
    )
    assert "Type the time at which" in words
    assert not Repair.objects.exists()
    assert 'value="30 g + 10 g"' in words


def test_nothing_confirmed_is_not_a_repair(page, plan):
    words = said(sent(page, plan))
    assert "fill in at least one stage" in words
    assert f'name="plan" value="{plan.pk}"' in words
    plan.refresh_from_db()
    assert plan.is_still_planned()


def test_a_refused_save_and_a_draft_keep_the_plan(page, plan):
    answer = sent(page, plan, act="draft")
    assert page.get(answer.url).context["page"].plan == plan


def test_each_layer_is_a_stage_with_its_own_batches(page, plan, resin):
    plan.stages.filter(kind="seal").update(coats=2)
    typed = opened(page, plan).typed
    assert [typed[f"stage-{n}-kind"] for n in (0, 1, 2)] == ["open_up", "seal", "seal"]
    assert typed["stage-1-batch-0-amount"] == typed["stage-2-batch-0-amount"]


def test_a_one_part_product_is_so_much_of_a_tin(page, plan):
    product = ProductFactory(name="Invented Gloss", kind=Product.Kind.PAINT, parts=1)
    sheet = SheetRevisionFactory(product=product, coverage_m2_per_l=Decimal(10))
    plan.paint_m2 = Decimal("0.5")
    plan.save()
    PlanStageFactory(plan=plan, position=3, kind="paint", sheet=sheet, coats=2)
    typed = opened(page, plan).typed  # 50 ml a coat, and a tenth of what is taken stays behind
    assert typed["stage-2-kind"] == typed["stage-3-kind"] == "paint"
    assert typed["stage-2-batch-0-amount"] == "55.6 ml"
    assert typed["stage-2-batch-0-lot"] == ""  # none in stores


def test_a_second_kit_is_taken_when_the_first_is_too_small(page, plan, resin, kit):
    """Each batch from the first lot set aside that still holds enough for it."""
    plan.end_grain_mm2 = Decimal(2_000_000)
    plan.save()
    later = make_kit_lot(resin, number="K-18", expires_on=date(2030, 1, 1))
    lots = {opened(page, plan).typed[f"stage-1-batch-{n}-lot"] for n in range(2)}
    assert lots <= {str(kit.pk), str(later.pk)}


# A plan that is closed


def test_a_plan_logged_already_leads_to_its_repair(page, plan):
    sent(page, plan, **{"stage-0-at": "09:00"})
    answer = page.get(f"{LOG}?plan={plan.pk}", follow=True)
    assert "This plan is logged as done" in said(answer)
    assert answer.request["PATH_INFO"] == Repair.objects.get().get_absolute_url()


def test_a_plan_that_was_dropped_is_not_logged(page, plan):
    Plan.objects.filter(pk=plan.pk).update(state="dropped", dropped_reason="Owner sells")
    answer = page.get(f"{LOG}?plan={plan.pk}")
    assert answer.url == plan.get_absolute_url()


def test_a_plan_closed_meanwhile_is_said_and_nothing_typed_is_lost(page, plan):
    typed = opened(page, plan).typed
    values = {name: typed.getlist(name) for name in typed}
    Plan.objects.filter(pk=plan.pk).update(state="dropped", dropped_reason="Owner sells")
    words = said(page.post(LOG, {**values, "act": "save", "stage-0-at": "09:00"}))
    assert "The plan that this was filled in from is no longer planned" in words
    assert 'name="plan"' not in words
    assert not Repair.objects.exists()
    del values["plan"]
    page.post(LOG, {**values, "act": "save", "stage-0-at": "09:00"})
    assert Repair.objects.count() == 1


def test_two_people_cannot_log_one_plan(plan):
    """The second, who opened the page while the plan still stood, is refused."""
    began = NOW - timedelta(hours=3)

    def entry():
        stages = (StageEntry("open_up", began),)
        return RepairEntry(plan.defect.member, "left", "resin", began, stages, plan=plan)

    first = log_repair(entry(), None, NOW)
    with pytest.raises(Refused) as refused:
        log_repair(entry(), None, NOW)
    assert refused.value.remarks[0].remark.code == "plan-closed"
    assert [repair.pk for repair in Repair.objects.all()] == [first.pk]


def test_a_plan_is_only_for_its_own_member(plan, sill):
    began = NOW - timedelta(hours=3)
    other = DefectFactory().member
    entry = RepairEntry(other, "left", "resin", began, (StageEntry("open_up", began),), plan=plan)
    with pytest.raises(Refused) as refused:
        log_repair(entry, None, NOW)
    assert refused.value.remarks[0].remark.code == "plan-elsewhere"


def test_a_repair_withdrawn_leaves_its_plan_to_be_done(page, plan):
    sent(page, plan, **{"stage-0-at": "09:00"})
    withdraw(Repair.objects.get(), "typed on the wrong sill", make_manager(), NOW)
    plan.refresh_from_db()
    assert (plan.state, plan.repair) == ("planned", None)
    assert opened(page, plan).plan == plan


# Who may


def test_choosing_another_member_leaves_the_plan(page, plan):
    typed = opened(page, plan).typed
    values = {name: typed.getlist(name) for name in typed}
    assert page.post(LOG, {**values, "act": "choose-again"}).context["page"].plan is None


def test_only_those_who_log_may_open_it(client, plan):
    client.force_login(make_viewer())
    assert client.get(f"{LOG}?plan={plan.pk}").status_code == 403
    client.force_login(make_crew())
    assert client.get(f"{LOG}?plan=999999").status_code == 404
    assert client.get(f"{LOG}?plan=x").status_code == 200


def test_the_page_asks_the_database_as_often_for_many_stages(page, plan, django_assert_num_queries):
    with CaptureQueriesContext(connection) as few:
        page.get(f"{LOG}?plan={plan.pk}")
    for position in range(3, 12):
        sheet = plan.stages.get(kind="seal", position=2).sheet
        PlanStageFactory(plan=plan, position=position, kind="seal", sheet=sheet)
    with django_assert_num_queries(len(few)):
        page.get(f"{LOG}?plan={plan.pk}")

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db.models import Sum

from materials.models import Movement
from properties.models import Defect
from repairs.logbook.entry import EarlierBatchEntry, NewDefectEntry
from repairs.logbook.log import ReasonsNeeded, Refused, judge, log_repair
from repairs.logbook.placed import asked_with
from repairs.models import (
    Batch,
    BatchShare,
    CostLine,
    DueDate,
    KeptRemark,
    Labour,
    Photograph,
    Repair,
    Stage,
)
from tests.factories import (
    MORNING,
    MemberFactory,
    MoistureReadingFactory,
    PhotographFactory,
    PropertyFactory,
    make_crew,
    make_kit_lot,
)
from tests.repairs.made_entries import (
    DAY,
    HOUR,
    NOW,
    batch,
    codes,
    entry,
    log,
    make_lots,
    make_sheet,
    one_seal,
    painting,
    part,
    stage,
    tower,
)

pytestmark = pytest.mark.django_db
TABLES = (Repair, Stage, Batch, BatchShare, CostLine, Labour, KeptRemark, DueDate)


def money_of(**where):
    return CostLine.objects.filter(**where).aggregate(total=Sum("amount_minor"))["total"] or 0


# What is kept


def test_a_sound_repair_is_kept_whole():
    made = one_seal(labour=(painting(),), costs=(tower(),))
    repair = log_repair(made, make_crew(), NOW)
    kept = repair.stages.get().batches_mixed.get()
    assert [(p.part, p.amount) for p in kept.parts.all()] == [("a", 100), ("b", 33)]
    assert [(s.stage, s.amount) for s in kept.shares.all()] == [(repair.stages.get(), 133)]
    assert repair.state == Repair.State.FINISHED
    assert repair.labour.get().cost_line.amount_minor == 8000
    assert money_of(repair=repair, kind="access") == 8000


def test_what_a_batch_took_leaves_its_lots():
    made = one_seal()
    log_repair(made, make_crew(), NOW)
    lots = [p.lot for p in made.stages[0].batches[0].parts]
    assert [lot.remaining() for lot in lots] == [900, 967]


def test_waste_leaves_the_lots_as_waste():
    made = one_seal()
    first = made.stages[0].batches[0]
    made = replace(
        made, stages=(replace(made.stages[0], batches=(replace(first, waste=Decimal("13.3")),)),)
    )
    repair = log(made)
    kinds = Movement.objects.filter(lot=first.parts[0].lot).values_list("kind", "amount")
    assert set(kinds) == {("received", 1000), ("used", -90), ("wasted", -10)}
    shares = repair.stages.get().batches_mixed.get().shares
    assert shares.get(stage=None).amount == Decimal("13.3")
    assert shares.exclude(stage=None).get().amount == Decimal("119.7")


def test_a_batch_that_went_off_is_all_waste_at_the_cost_of_the_job():
    made = one_seal()
    gone = replace(made.stages[0].batches[0], abandoned=True)
    repair = log(replace(made, stages=(replace(made.stages[0], batches=(gone,)),)))
    kept = repair.stages.get().batches_mixed.get()
    assert [(share.stage, share.amount) for share in kept.shares.all()] == [(None, 133)]
    assert set(Movement.objects.exclude(kind="received").values_list("kind", "amount")) == {
        ("wasted", -100),
        ("wasted", -33),
    }
    assert money_of(repair=repair, kind="material") == 600 + 198
    assert repair.stages.get().ready_at is None


def test_the_first_batch_opens_its_lots():
    made = one_seal()
    log_repair(made, make_crew(), NOW)
    lot = made.stages[0].batches[0].parts[0].lot
    lot.refresh_from_db()
    assert lot.opened_on == MORNING.date()


def test_an_opened_lot_keeps_its_day():
    made = one_seal()
    lot = made.stages[0].batches[0].parts[0].lot
    lot.opened_on = date(2026, 2, 1)
    lot.save()
    log(made)
    lot.refresh_from_db()
    assert lot.opened_on == date(2026, 2, 1)


def test_material_money_is_the_share_of_what_the_lot_cost():
    repair = log_repair(one_seal(), make_crew(), NOW)
    line = repair.cost_lines.get(kind="material")
    assert line.amount_minor == 600 + 198
    assert line.batch == repair.stages.get().batches_mixed.get()
    assert line.cause == Defect.Cause.END_GRAIN


def test_a_lot_without_a_price_costs_nothing_known():
    sheet = make_sheet()
    a, b = make_lots(sheet)
    repair = log(entry(MemberFactory(), stage("seal", batch(sheet, part(a, 100), part(b, 33)))))
    assert not repair.cost_lines.exists()
    assert set(repair.stages.get().batches_mixed.get().parts.values_list("cost_minor")) == {(None,)}


def test_half_a_kit_costs_half_the_kit():
    sheet = make_sheet()
    kit = make_kit_lot(sheet.product, price_minor=5999)
    a, b = kit.part_lots.order_by("part")
    half = batch(sheet, part(a, 500, "0.5"), part(b, 165, "0.5"), basis="kit", typed="1/2 kit")
    repair = log(entry(MemberFactory(), stage("seal", half)))
    assert money_of(repair=repair) == 3000
    parts = repair.stages.get().batches_mixed.get().parts
    assert parts.aggregate(total=Sum("cost_minor"))["total"] == 3000


def test_hours_without_a_rate_cost_nothing_known():
    repair = log(one_seal(labour=(painting(rate_minor=None),)))
    assert repair.labour.get().cost_line is None
    assert not repair.cost_lines.filter(kind="labour").exists()


def test_photographs_are_kept_with_the_repair():
    shown = PhotographFactory.build(repair=None, member=None)
    repair = log(one_seal(photographs=(shown,)))
    kept = repair.photographs.get()
    assert (kept.member, kept.moment) == (repair.member, Photograph.Moment.AFTER)


def test_a_defect_found_while_repairing_is_kept_and_made_good():
    new = NewDefectEntry("decay", "gutter", "put_right", MORNING.date(), "CC2", "UC2")
    repair = log(one_seal(new_defect=new))
    defect = repair.defects.get()
    assert (defect.state, defect.closed_on) == (Defect.State.MADE_GOOD, MORNING.date())
    assert repair.cost_lines.first().cause == "gutter"


@pytest.mark.parametrize("said", [{"finished": False}, {"temporary": True}, {"kind": "make_safe"}])
def test_a_defect_stays_in_work_until_a_lasting_repair_is_finished(said):
    assert log(one_seal(**said)).defects.get().state == Defect.State.IN_WORK


def test_a_repair_in_work_sets_no_looks_yet():
    assert not log(one_seal(finished=False)).due_dates.exists()


def test_a_day_typed_for_the_next_look_is_kept():
    repair = log(one_seal(next_look_on=date(2026, 9, 1)))
    assert repair.due_dates.get(kind="repair_look").due_on == date(2026, 9, 1)


def test_who_entered_it_is_kept():
    crew = make_crew()
    repair = log_repair(one_seal(), crew, NOW)
    assert repair.entered_by == crew
    assert repair.history.count() == 1
    assert Movement.objects.filter(kind="used", entered_by=crew).count() == 2


# Remarks and reasons


def test_a_warning_asks_for_a_reason():
    made = one_seal()
    off = replace(made.stages[0].batches[0], surface_c=Decimal(4), air_c=Decimal(5))
    made = replace(made, stages=(replace(made.stages[0], batches=(off,)),))
    with pytest.raises(ReasonsNeeded) as needed:
        log_repair(made, make_crew(), NOW)
    assert {placed.key for placed in needed.value.remarks} == {"stage-1.batch-1.too-cold"}
    assert not Repair.objects.exists()


def test_the_reason_is_kept_with_its_remark():
    made = one_seal()
    off = replace(made.stages[0].batches[0], surface_c=Decimal(4), air_c=Decimal(5))
    made = replace(
        made,
        stages=(replace(made.stages[0], batches=(off,)),),
        reasons={"stage-1.batch-1.too-cold": "Tent and heater until evening"},
    )
    repair = log_repair(made, make_crew(), NOW)
    kept = repair.remarks.get(code="too-cold")
    assert kept.reason == "Tent and heater until evening"
    assert kept.batch == repair.stages.get().batches_mixed.get()


def test_a_reason_of_blanks_is_none():
    made = one_seal()
    off = replace(made.stages[0].batches[0], surface_c=Decimal(4), air_c=Decimal(5))
    made = replace(
        made,
        stages=(replace(made.stages[0], batches=(off,)),),
        reasons={"stage-1.batch-1.too-cold": " \n "},
    )
    with pytest.raises(ReasonsNeeded):
        log_repair(made, make_crew(), NOW)


def test_keys_stay_unique_where_two_lots_have_expired():
    sheet = make_sheet()
    a, b = make_lots(sheet, expires_on=date(2026, 3, 31))
    made = entry(MemberFactory(), stage("seal", batch(sheet, part(a, 100), part(b, 33))))
    keys = [placed.key for placed in judge(made, NOW)]
    assert {"stage-1.batch-1.expired", "stage-1.batch-1.expired-2"} <= set(keys)
    assert len(keys) == len(set(keys))


def test_a_reading_of_that_morning_stands_for_the_moisture():
    made = one_seal()
    unread = replace(made, stages=(replace(made.stages[0], moisture_pct=None),))
    MoistureReadingFactory(member=made.member, zone="left", taken_at=MORNING - HOUR, raw_pct=31)
    assert "wood-wet" in codes(unread)


def test_a_reading_of_last_week_does_not():
    made = one_seal()
    unread = replace(made, stages=(replace(made.stages[0], moisture_pct=None),))
    MoistureReadingFactory(member=made.member, zone="left", taken_at=MORNING - 7 * DAY, raw_pct=31)
    assert "wood-wet" not in codes(unread)
    assert "moisture-not-recorded" in codes(unread)


def test_judging_asks_the_same_few_questions_of_a_long_entry(django_assert_max_num_queries):
    made = one_seal()
    one = made.stages[0].batches[0]
    made = replace(made, stages=(replace(made.stages[0], batches=(one,) * 8),) * 4)
    with django_assert_max_num_queries(6):
        judge(made, NOW)


# Once and whole


def test_a_form_sent_twice_makes_one_repair():
    made = one_seal(labour=(painting(),))
    first, second = log_repair(made, make_crew(), NOW), log_repair(made, make_crew(), NOW)
    assert first == second
    assert Repair.objects.count() == Labour.objects.count() == 1


def test_a_failure_in_the_middle_leaves_nothing():
    made = one_seal(labour=(painting(),), costs=(tower(),))
    stays = Movement.objects.count()
    broken = replace(made, costs=(replace(made.costs[0], invoice="y" * 200),))
    with pytest.raises(Refused):
        log_repair(broken, make_crew(), NOW)
    assert [table.objects.count() for table in TABLES] == [0] * len(TABLES)
    assert Movement.objects.count() == stays
    assert Defect.objects.get().state == Defect.State.OPEN
    assert log_repair(made, make_crew(), NOW).state == Repair.State.FINISHED


# Material shared between repairs


def test_what_was_left_over_can_be_taken_once():
    made = one_seal()
    first = replace(made.stages[0].batches[0], left_over=Decimal(33))
    repair = log(replace(made, stages=(replace(made.stages[0], batches=(first,)),)))
    mixed = repair.stages.get().batches_mixed.get()
    taken = EarlierBatchEntry(mixed, Decimal(33))
    other = MemberFactory(building=repair.member.building)
    second = log(entry(other, stage("fill", at=MORNING + HOUR, earlier_batches=(taken,))))
    assert money_of(repair=repair) + money_of(repair=second) == 798
    assert money_of(repair=second) == 198
    again = entry(other, stage("fill", at=MORNING + HOUR, earlier_batches=(taken,)))
    assert {code.split("-")[0] for code in codes(again)} == {"more"}


def test_the_building_that_shares_a_batch_in_another_currency_needs_a_rate():
    made = one_seal()
    first = replace(made.stages[0].batches[0], left_over=Decimal(33))
    repair = log(replace(made, stages=(replace(made.stages[0], batches=(first,)),)))
    taken = EarlierBatchEntry(repair.stages.get().batches_mixed.get(), Decimal(33))
    abroad = MemberFactory(building__property=PropertyFactory(currency="EUR"))
    there = entry(abroad, stage("fill", at=MORNING + HOUR, earlier_batches=(taken,)))
    assert "rate-gbp" in codes(there)
    second = log(replace(there, rates={"GBP": Decimal("1.15")}))
    line = second.cost_lines.get()
    assert (line.amount_minor, line.currency, line.home_minor) == (198, "GBP", 228)


def test_two_people_taking_the_last_grams_both_succeed():
    sheet = make_sheet()
    a, b = make_lots(sheet, received=200)
    for _ in range(2):
        log(entry(MemberFactory(), stage("seal", batch(sheet, part(a, 150), part(b, 49.5)))))
    assert a.remaining() == -100
    assert a.count_needed()


def test_the_same_form_sent_anew_is_another_repair():
    made = one_seal()
    log(made)
    log(replace(made, submission=uuid4(), began_at=MORNING + timedelta(hours=1)))
    assert Repair.objects.count() == 2


def test_one_reason_answers_the_same_remark_on_every_layer_and_both_parts_of_a_batch():
    sheet = make_sheet(apply_min_c=10)
    lots = make_lots(sheet, expires_on=MORNING.date() - DAY)
    cold = {"air_c": Decimal(4), "surface_c": Decimal(4)}
    made = entry(
        MemberFactory(),
        *(
            stage("fill", batch(sheet, part(lots[0], 100), part(lots[1], 33), at=at), at=at, **cold)
            for at in (MORNING, MORNING + 2 * DAY, MORNING + 4 * DAY)
        ),
    )
    said = [placed for placed in judge(made, NOW) if placed.remark.code in ("expired", "too-cold")]
    asked = set(asked_with(said).values())
    assert sum("too-cold" in key for key in asked) < sum("too-cold" in one.key for one in said)
    assert not any(key.endswith("expired-2") for key in asked)
    others = {
        placed.key: "seen"
        for placed in judge(made, NOW)
        if placed.remark.level == "warning" and placed.remark.code not in ("expired", "too-cold")
    }
    repair = log_repair(
        replace(made, reasons={**others, **dict.fromkeys(asked, "tested hard")}), None, NOW
    )
    kept = repair.remarks.filter(code__in=("expired", "too-cold"), level="warning")
    assert kept.count() == len([one for one in said if one.remark.level == "warning"])
    assert {remark.reason for remark in kept} == {"tested hard"}

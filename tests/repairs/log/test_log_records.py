"""What the log page makes of times, units, earlier repairs, money and remarks."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.contrib.auth.models import User

from repairs.models import Batch, Repair
from repairs.remarks import cautions_for
from tests.factories import (
    DefectFactory,
    LabourFactory,
    MemberFactory,
    PropertyFactory,
    RepairFactory,
    make_kit_lot,
)
from tests.repairs.log.form import LOG, said, typed

# Times


def in_london(page, sill, kit, day, mixed, **more):
    """Logged at noon on the day after, by somebody whose log-in has not run out."""
    later = datetime.fromisoformat(f"{day}T12:00+00:00") + timedelta(days=1)
    with time_machine.travel(later, tick=False):
        page.force_login(User.objects.get())
        return page.post(LOG, typed(sill, kit, **{
            "stage-0-on": day, "stage-0-batch-0-mixed": mixed, "stage-0-batch-0-used": "", **more,
        }))  # fmt: skip


def test_a_time_that_the_clocks_skip_is_refused(page, sill, kit):
    assert "There was no 01:30 on 29 March 2026" in said(
        in_london(page, sill, kit, "2026-03-29", "01:30")
    )


@pytest.mark.parametrize(("again", "hour"), [("first", 0), ("second", 1)])
def test_a_time_that_comes_twice_asks_which_one(page, sill, kit, again, hour):
    asked = in_london(page, sill, kit, "2026-10-25", "01:30")
    assert "Which of the two times?" in said(asked)
    saved = in_london(page, sill, kit, "2026-10-25", "01:30", **{"stage-0-batch-0-again": again})
    assert saved.status_code == 302, said(saved)
    assert Batch.objects.get().mixed_at == datetime(2026, 10, 25, hour, 30, tzinfo=UTC)


def test_a_mix_after_midnight_belongs_to_the_next_day(page, sill, kit):
    saved = in_london(page, sill, kit, "2026-05-04", "00:20", **{"stage-0-at": "22:30"})
    assert saved.status_code == 302, said(saved)
    assert Batch.objects.get().mixed_at == datetime(2026, 5, 4, 23, 20, tzinfo=UTC)


def test_times_are_those_of_the_propertys_own_clock(page, kit):
    home = PropertyFactory(time_zone="America/New_York")
    member = MemberFactory(building__property=home)
    page.post(LOG, typed(member, kit, **{"stage-0-batch-0-used": ""}))
    assert Batch.objects.get().mixed_at == datetime(2026, 5, 6, 14, 0, tzinfo=UTC)


def test_bare_figures_are_in_the_units_of_the_property(page, kit):
    home = PropertyFactory(unit_system="us")
    member = MemberFactory(building__property=home)
    page.post(LOG, typed(member, kit, **{"stage-0-air_c": "68", "stage-0-thickness": "1/2"}))
    stage = Repair.objects.get().stages.get()
    assert (stage.air_c, stage.thickness_mm) == (Decimal(20), Decimal("12.7"))


# Again on one spot


def test_a_spot_repaired_before_makes_it_a_repeat_by_itself(page, sill, kit):
    RepairFactory(member=sill, zone="right")
    before = RepairFactory(member=sill, zone="left")
    page.post(LOG, typed(sill, kit))
    repair = Repair.objects.latest("pk")
    assert (repair.relation, repair.follows) == ("repeat", before)


def test_a_redo_names_the_repair_that_failed(page, sill, kit):
    before = RepairFactory(member=sill, zone="left")
    page.post(LOG, typed(sill, kit, relation=f"redo:{before.pk}", borne_by="contractor"))
    before.refresh_from_db()
    assert before.state == Repair.State.FAILED


def test_damage_that_was_not_in_the_records_is_entered_with_the_repair(page, sill, kit):
    page.post(LOG, typed(sill, kit, **{
        "new-defect-kind": "decay", "new-defect-cause": "gutter",
        "new-defect-cause_state": "put_right",
    }))  # fmt: skip
    defect = Repair.objects.get().defects.get()
    assert (defect.kind, defect.cause, defect.zone) == ("decay", "gutter", "left")


# Money


def test_hours_and_other_costs_are_booked(page, sill, kit):
    page.post(LOG, typed(sill, kit, **{
        "labour-0-who": "Robin Larch", "labour-0-hours": "2:30", "labour-0-rate": "32.00",
        "cost-0-kind": "access", "cost-0-amount": "1,250.50", "cost-0-description": "Tower",
    }))  # fmt: skip
    lines = {line.kind: line.amount_minor for line in Repair.objects.get().cost_lines.all()}
    assert lines["labour"] == 8000
    assert lines["access"] == 125050


def test_the_rate_of_the_last_time_is_set_out_again(page, crew, sill):
    LabourFactory(repair__entered_by=crew, rate_minor=3450)
    assert page.get(f"{LOG}?member={sill.pk}").context["page"].typed["labour-0-rate"] == "34.50"


# Remarks


def test_a_warning_wants_a_reason_and_everything_is_kept(page, sill, kit):
    form = typed(sill, kit, **{"stage-0-batch-0-amount": "100 g + 50 g"})
    answer = page.post(LOG, form)
    assert "want" in said(answer)
    assert "a reason" in said(answer)
    assert 'value="100 g + 50 g"' in said(answer)
    reasons = dict.fromkeys(answer.context["page"].reasons.fields, "The scale was wrong")
    assert reasons
    assert page.post(LOG, {**form, **reasons}).status_code == 302
    assert Repair.objects.get().remarks.filter(reason="The scale was wrong").exists()


def test_amounts_the_wrong_way_round_are_swapped_with_one_button(page, sill, kit):
    form = typed(sill, kit, **{"stage-0-batch-0-amount": "33 g + 100 g"})
    assert "Typed or mixed?" in said(page.post(LOG, form))
    swapped = page.post(LOG, {**form, "act": "swap-stage-0-batch-0"})
    assert 'value="100 g + 33 g"' in said(swapped)


def test_an_expired_lot_is_used_with_a_reason(page, sill, resin):
    old = make_kit_lot(resin, expires_on=date(2026, 3, 31))
    form = typed(sill, old)
    answer = page.post(LOG, form)
    reasons = dict.fromkeys(answer.context["page"].reasons.fields, "Tested first: hard")
    assert any("expired" in name for name in reasons)
    assert page.post(LOG, {**form, **reasons}).status_code == 302


def test_checking_first_saves_nothing(page, sill, kit):
    answer = page.post(LOG, typed(sill, kit, act="check"))
    assert "It is not saved yet" in said(answer)
    assert not Repair.objects.exists()


def test_a_member_that_carries_load_asks_for_the_engineers_word(page, kit):
    post = MemberFactory(load_bearing="yes", kind="post")
    words = said(page.get(f"{LOG}?member={post.pk}"))
    assert (
        cautions_for(load_bearing="yes", resin=False, old_paint=False, at_height=False, dust=False)[
            0
        ]
        in words
    )
    assert "What the licensed engineer decided" in words


def test_paint_from_before_the_ban_asks_about_lead(page, kit):
    home = PropertyFactory(lead_paint_ban_year=1978)
    old = MemberFactory(building__property=home, oldest_paint_year=1930)
    words = said(page.get(f"{LOG}?member={old.pk}"))
    assert "lead" in words.split("To mind while doing it")[0].lower()
    assert "How lead in the old paint was dealt with" in words


# How much it asks of the database


def test_the_queries_do_not_grow_with_lots_and_members(
    page, sill, resin, django_assert_max_num_queries
):
    make_kit_lot(resin)
    page.get(f"{LOG}?member={sill.pk}")
    with django_assert_max_num_queries(12) as few:
        page.get(f"{LOG}?member={sill.pk}")
    for number in range(30):
        make_kit_lot(resin, number=f"M{number}")
    MemberFactory.create_batch(30, building=sill.building, elevation=sill.elevation)
    DefectFactory.create_batch(5, member=sill)
    RepairFactory.create_batch(5, member=sill)
    with django_assert_max_num_queries(len(few)):
        page.get(f"{LOG}?member={sill.pk}")

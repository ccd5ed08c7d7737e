"""From the records to lives: when a life begins, how it ends, and what it counts as."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.lives.rows import Asked, Ending, crew_size, gather
from repairs.models import Repair
from tests import factories as make

pytestmark = pytest.mark.django_db

ON = date(2026, 11, 25)
BEGAN = datetime(2020, 5, 4, 9, tzinfo=UTC)


def repair(**facts) -> Repair:
    return make.RepairFactory(**{"began_at": BEGAN, **facts})


def told(**asked) -> list[tuple[date, date, bool, str]]:
    lives = gather(Repair.objects.order_by("pk"), ON, Asked(**asked)).lives
    return [
        (life.done_on, life.ended_on, life.failed, life.ending)
        for life in sorted(lives, key=lambda life: life.repair_id)
    ]


def test_a_sound_repair_has_lived_until_today():
    repair()
    assert told() == [(date(2020, 5, 4), ON, False, Ending.SOUND)]


def test_a_life_begins_when_the_repair_was_finished_by_the_clock_on_site():
    member = make.MemberFactory(building__property__time_zone="Pacific/Auckland")
    repair(member=member, ended_at=datetime(2020, 5, 6, 20, tzinfo=UTC))
    assert told()[0][0] == date(2020, 5, 7)


def test_a_failed_repair_lived_until_the_day_it_was_found_failed():
    repair(state="failed", failed_on=date(2021, 2, 4))
    assert told() == [(date(2020, 5, 4), date(2021, 2, 4), True, Ending.FAILED)]


def test_scenario_9_a_redo_ends_the_first_life_and_has_its_own():
    first = repair(state="failed", failed_on=date(2021, 2, 4))
    again_at = datetime(2021, 2, 10, 9, tzinfo=UTC)
    repair(member=first.member, relation="redo", follows=first, began_at=again_at)
    assert told() == [
        (date(2020, 5, 4), date(2021, 2, 4), True, Ending.FAILED),
        (date(2021, 2, 10), ON, False, Ending.SOUND),
    ]


def test_a_redo_dates_a_failure_that_nobody_dated():
    first = repair(state="failed")
    again_at = datetime(2021, 2, 10, 9, tzinfo=UTC)
    repair(member=first.member, relation="redo", follows=first, began_at=again_at)
    assert told()[0] == (date(2020, 5, 4), date(2021, 2, 10), True, Ending.FAILED)


def test_a_withdrawn_redo_ends_nothing():
    first = repair()
    repair(member=first.member, relation="redo", follows=first, state="withdrawn")
    assert told() == [(date(2020, 5, 4), ON, False, Ending.SOUND)]


@pytest.mark.parametrize(("again_fails", "failed"), [(False, False), (True, True)])
def test_damage_again_at_the_spot_ends_a_life_and_counts_as_chosen(again_fails, failed):
    first = repair()
    again_at = datetime(2023, 5, 4, 9, tzinfo=UTC)
    repair(member=first.member, relation="repeat", follows=first, began_at=again_at)
    assert told(again_fails=again_fails)[0] == (
        date(2020, 5, 4), date(2023, 5, 4), failed, Ending.AGAIN,
    )  # fmt: skip


def test_paint_over_a_repair_does_not_end_its_life_but_ends_that_of_the_last_paint():
    fill = repair()
    paint = repair(
        member=fill.member, kind="repaint", relation="repeat", follows=fill,
        began_at=BEGAN + timedelta(days=365),
    )  # fmt: skip
    repair(
        member=fill.member, kind="repaint", relation="repeat", follows=paint,
        began_at=BEGAN + timedelta(days=2000),
    )  # fmt: skip
    assert [ending for *_, ending in told()] == [Ending.SOUND, Ending.AGAIN, Ending.SOUND]


def test_what_left_while_sound_is_counted_until_then():
    left = date(2024, 3, 1)
    repair(member__removed_on=left, member__removed_reason="Rebuilt")
    repair(member__building__demolished_on=left)
    repair(
        member__building__property__given_up_on=left,
        member__building__property__given_up_reason="Sold",
    )
    found = told()
    assert {(ended_on, failed) for _, ended_on, failed, _ in found} == {(left, False)}
    assert [ending for *_, ending in found] == [
        Ending.REMOVED, Ending.DEMOLISHED, Ending.GIVEN_UP,
    ]  # fmt: skip


def test_a_member_taken_out_on_the_day_its_repair_failed_is_a_failure():
    day = date(2024, 3, 1)
    repair(state="failed", failed_on=day, member__removed_on=day, member__removed_reason="Replaced")
    assert told()[0][1:] == (day, True, Ending.FAILED)


def test_a_failure_found_after_the_property_was_given_up_is_none_of_ours():
    member = make.MemberFactory(
        building__property__given_up_on=date(2022, 1, 1), building__property__given_up_reason="Sold"
    )
    repair(member=member, state="failed", failed_on=date(2024, 1, 1))
    assert told()[0][1:] == (date(2022, 1, 1), False, Ending.GIVEN_UP)


def test_a_failure_dated_before_the_end_of_the_work_lived_for_no_time():
    repair(state="failed", failed_on=date(2020, 5, 1), ended_at=BEGAN + timedelta(days=3))
    assert gather(Repair.objects.all(), ON, Asked()).lives[0].years == 0


def test_what_has_no_life_is_left_out_and_counted():
    for facts in (
        {"state": "withdrawn"},
        {"state": "in_work"},
        {"temporary": True},
        {"state": "failed"},
        {"began_at": datetime(2027, 1, 1, tzinfo=UTC)},
    ):
        repair(**facts)
    found = gather(Repair.objects.all(), ON, Asked())
    assert (found.lives, found.temporary, found.undated) == ((), 1, 1)


def test_a_look_dated_before_the_repair_does_no_harm():
    repair(state="failed", failed_on=date(2019, 1, 1))
    assert told() == [(date(2020, 5, 4), date(2020, 5, 4), True, Ending.FAILED)]


# Product and crew


def share(of: Repair, kind: str, amount: int) -> str:
    sheet = make.SheetRevisionFactory(product__kind=kind)
    stage = make.StageFactory(repair=of)
    make.BatchShareFactory(batch__sheet=sheet, stage=stage, amount=amount)
    return str(sheet.product_id)


def product_of(of: Repair) -> str:
    lives = gather(Repair.objects.all(), ON, Asked(product=True)).lives
    return next(life.product for life in lives if life.repair_id == of.pk)


def test_the_main_product_is_what_most_of_its_body_is_made_of():
    one = repair()
    share(one, "sealer", 40)
    filler = share(one, "filler", 250)
    share(one, "paint", 900)
    assert product_of(one) == filler


def test_of_a_repaint_it_is_the_paint():
    one = repair(kind="repaint")
    paint = share(one, "paint", 900)
    share(one, "paint_primer", 300)
    assert product_of(one) == paint


def test_without_a_batch_there_is_no_product():
    assert product_of(repair()) == ""


def test_the_crew_are_the_people_with_hours():
    one = repair(done_by="Robin, Ash and Fern")
    for who in ("Robin Larch", "robin larch ", "Ash Rowan", ""):
        make.LabourFactory(repair=one, who=who)
    (life,) = gather(Repair.objects.all(), ON, Asked(crew=True)).lives
    assert life.crew == "2"


@pytest.mark.parametrize(
    ("done_by", "size"),
    [
        ("", "none"),
        ("  , ", "none"),
        ("Robin Larch", "1"),
        ("Robin and Ash", "2"),
        ("Robin Larch & Ash Rowan", "2"),
        ("Robin, robin", "1"),
        ("Robin; Ash; Fern; Hazel", "3"),
        ("Sandy Anderson", "1"),
    ],
)
def test_without_hours_the_names_are_counted(done_by, size):
    assert crew_size(set(), done_by) == size


@given(st.text(max_size=200))
def test_any_text_has_a_crew(text):
    assert crew_size(set(), text) in {"none", "1", "2", "3"}


def test_it_asks_the_same_few_questions_of_many(django_assert_num_queries):
    for _ in range(30):
        one = repair()
        share(one, "filler", 10)
        make.LabourFactory(repair=one, who="Robin")
    with django_assert_num_queries(4):
        gather(Repair.objects.all(), ON, Asked(product=True, crew=True))
    with django_assert_num_queries(2):
        gather(Repair.objects.all(), ON, Asked())

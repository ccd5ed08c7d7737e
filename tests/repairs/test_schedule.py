"""What follows in the schedule from a repair and from a look."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from properties.models import Member
from repairs.due import schedule
from repairs.due.after_look import after_inspection
from repairs.due.pace import coming_days, pace_for
from repairs.due.series import Steps
from repairs.looks.record import InspectionEntry, record_inspection
from repairs.models import DueDate, Inspection, MemberInterval, Repair, Stage
from repairs.models.due_dates import DueKind
from tests import factories as make

pytestmark = pytest.mark.django_db
MAY_4 = date(2026, 5, 4)
Result = Inspection.Result


def logged(on: date = MAY_4, **kwargs: Any) -> Repair:
    repair: Repair = make.RepairFactory(
        began_at=datetime(on.year, on.month, on.day, 9, tzinfo=UTC), **kwargs
    )
    schedule.after_repair(repair, None, on)
    return repair


def planned(repair: Repair, kind: str = DueKind.REPAIR_LOOK) -> DueDate:
    return DueDate.objects.outstanding().get(member=repair.member, kind=kind)


def look(due: DueDate, on: date, result: str = Result.SOUND, **kwargs: Any) -> Inspection:
    defect = None
    if result == Result.REDO:
        kind = kwargs.pop("defect_kind", "failed_repair")
        defect = make.DefectFactory.build(member=due.member, kind=kind, found_on=on)
    look = make.InspectionFactory.build(
        member=due.member, repair=due.repair, due=due, looked_on=on, result=result, **kwargs
    )
    return record_inspection(InspectionEntry(look, defect=defect), make.UserFactory(), on)


# Scenario 1


def test_a_repair_is_looked_at_after_1_6_and_12_months_then_yearly() -> None:
    first = planned(logged())
    assert first.due_on == date(2026, 6, 4)
    assert coming_days(first, 5) == [
        date(2026, 6, 4), date(2026, 11, 4), date(2027, 5, 4), date(2028, 5, 4), date(2029, 5, 4),
    ]  # fmt: skip


def test_what_is_overdue_comes_again_after_the_day_it_is_looked_at() -> None:
    first = planned(logged())
    assert coming_days(first, 3, on=date(2026, 12, 1)) == [
        date(2026, 6, 4), date(2027, 5, 4), date(2028, 5, 4),
    ]  # fmt: skip


def test_only_the_next_look_is_a_row_and_each_look_sets_the_one_after() -> None:
    repair = logged()
    for expected in (date(2026, 6, 4), date(2026, 11, 4), date(2027, 5, 4), date(2028, 5, 4)):
        due = planned(repair)
        assert due.due_on == expected
        look(due, due.due_on)


def test_each_date_says_which_rule_set_it() -> None:
    due = planned(logged())
    assert due.rule is not None
    assert due.rule.code == "repair-look"
    assert due.set_because == "1 month and 6 months after the repair, then yearly"


def test_a_temporary_repair_is_looked_at_every_three_months() -> None:
    due = planned(logged(temporary=True))
    assert due.due_on == date(2026, 8, 4)
    look(due, date(2026, 8, 20))
    assert planned(due.repair).due_on == date(2026, 11, 20)  # type: ignore[arg-type]


def test_making_safe_counts_as_temporary() -> None:
    assert planned(logged(kind=Repair.Kind.MAKE_SAFE)).due_on == date(2026, 8, 4)


def test_the_day_counts_by_the_clock_on_site() -> None:
    """Half past eleven at night in London in summer is the next day there, not in UTC."""
    repair = make.RepairFactory(began_at=datetime(2026, 5, 4, 23, 30, tzinfo=UTC))
    schedule.after_repair(repair, None, date(2026, 5, 5))
    assert planned(repair).counted_from == date(2026, 5, 5)


def test_asking_twice_sets_nothing_twice() -> None:
    repair = logged()
    assert schedule.after_repair(repair, None, MAY_4) == []
    assert repair.due_dates.count() == 1


def test_a_person_may_set_the_first_look() -> None:
    repair = make.RepairFactory()
    by = make.UserFactory(first_name="Ash", last_name="Rowan")
    schedule.after_repair(repair, by, MAY_4, first_on=date(2026, 7, 1))
    due = planned(repair)
    assert (due.due_on, due.set_because) == (
        date(2026, 7, 1), "Set by Ash Rowan: when the repair was logged",
    )  # fmt: skip
    look(due, date(2026, 7, 1))
    assert planned(repair).due_on == date(2026, 11, 4)


def test_an_old_repair_entered_today_begins_with_the_look_still_to_come() -> None:
    repair = make.RepairFactory(began_at=datetime(2019, 9, 10, 9, tzinfo=UTC))
    schedule.after_repair(repair, None, MAY_4)
    assert planned(repair).due_on == date(2026, 5, 31)
    assert "Moved from 10 September 2026, to be in spring." in planned(repair).set_because


def test_a_withdrawn_repair_asks_for_nothing() -> None:
    assert (
        schedule.after_repair(make.RepairFactory(state=Repair.State.WITHDRAWN), None, MAY_4) == []
    )


def test_doing_it_again_calls_off_the_looks_at_the_earlier_repair() -> None:
    earlier = logged()
    again = make.RepairFactory(
        member=earlier.member, relation="redo", follows=earlier,
        began_at=datetime(2026, 9, 1, 9, tzinfo=UTC),
    )  # fmt: skip
    schedule.after_repair(again, None, date(2026, 9, 1))
    old = earlier.due_dates.get()
    assert (old.cancelled_on, old.cancelled_reason) == (
        date(2026, 9, 1), "Done again on 1 September 2026",
    )  # fmt: skip
    assert planned(again).repair == again


# Repaints


def painted(zone: str, kind: str = Repair.Kind.RESIN, **member: Any) -> Repair:
    repair: Repair = make.RepairFactory(
        zone=zone, kind=kind, member=make.MemberFactory(**{"kind": "cladding", **member}),
        began_at=datetime(2026, 5, 4, 9, tzinfo=UTC),
    )  # fmt: skip
    make.StageFactory(
        repair=repair, kind=Stage.Kind.PAINT, began_at=datetime(2026, 5, 6, 9, tzinfo=UTC)
    )
    schedule.after_repair(repair, None, date(2026, 5, 6))
    return repair


@pytest.mark.parametrize(
    ("finish", "exposure", "repaint"),
    [
        ("paint", "sheltered", date(2036, 5, 6)),
        ("paint", "severe", date(2029, 5, 6)),
        ("solid_stain", "sheltered", date(2032, 5, 6)),
        ("semitransparent_stain", "sheltered", date(2030, 5, 6)),
        ("tinted_clear", "sheltered", date(2028, 5, 6)),
        ("water_repellent", "sheltered", date(2027, 5, 6)),
    ],
)
def test_the_repaint_follows_finish_and_exposure(finish: str, exposure: str, repaint: date) -> None:
    """Low end of Wood Handbook FPL-GTR-190, Table 16-5; severe is common practice, no source."""
    repair = painted("whole", finish=finish, exposure=exposure)
    assert planned(repair, DueKind.REPAINT).due_on == repaint


def test_paint_is_looked_at_yearly() -> None:
    assert planned(painted("whole"), DueKind.COATING_LOOK).due_on == date(2027, 5, 6)


def test_a_finish_not_known_sets_no_repaint() -> None:
    repair = painted("whole", finish="unknown")
    assert not repair.due_dates.filter(kind=DueKind.REPAINT).exists()


def test_a_repaint_answers_the_planned_one_and_counts_anew() -> None:
    first = painted("whole", exposure="severe")
    again = make.RepairFactory(
        member=first.member, kind=Repair.Kind.REPAINT, zone="whole",
        began_at=datetime(2028, 6, 1, 9, tzinfo=UTC),
    )  # fmt: skip
    schedule.after_repair(again, None, date(2028, 6, 1))
    old = first.due_dates.get(kind=DueKind.REPAINT)
    assert old.done_on == date(2028, 6, 1)
    assert planned(again, DueKind.REPAINT).due_on == date(2031, 6, 1)
    assert planned(again, DueKind.COATING_LOOK).due_on == date(2029, 5, 31)
    assert not again.due_dates.filter(kind=DueKind.REPAIR_LOOK).exists()


def test_an_old_repaint_entered_late_leaves_the_newer_coating_its_dates() -> None:
    newer = painted("whole", exposure="severe")
    older = make.RepairFactory(
        member=newer.member, kind=Repair.Kind.REPAINT, zone="whole",
        began_at=datetime(2020, 6, 1, 9, tzinfo=UTC),
    )  # fmt: skip
    assert schedule.after_repair(older, None, date(2026, 6, 1)) == []
    due = planned(newer, DueKind.REPAINT)
    assert (due.repair, due.counted_from) == (newer, date(2026, 5, 6))


def test_a_painted_patch_leaves_the_planned_repaint_alone() -> None:
    first = painted("whole", exposure="severe")
    patch = make.RepairFactory(member=first.member, zone="left")
    make.StageFactory(repair=patch, kind=Stage.Kind.PAINT)
    assert schedule.repaint_after(patch, None, MAY_4) is None
    assert planned(first, DueKind.REPAINT).repair == first


# Scenario 11


def yearly(from_done: bool) -> DueDate:
    rule = make.DueRuleFactory(
        code=f"yearly-{from_done}", kind=DueKind.MEMBER_LOOK, first_months=[], then_months=12,
        from_done=from_done, member_kind="bargeboard",
    )  # fmt: skip
    member = make.MemberFactory(kind="bargeboard")
    return make.DueDateFactory(
        member=member, kind=DueKind.MEMBER_LOOK, rule=rule, due_on=date(2025, 4, 15),
        counted_from=date(2024, 4, 15),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("from_done", "following"), [(False, date(2026, 4, 15)), (True, date(2026, 6, 3))]
)
def test_a_late_look_stays_late_and_the_next_goes_by_the_rule(
    from_done: bool, following: date
) -> None:
    due = yearly(from_done)
    look(due, date(2025, 6, 3))
    due.refresh_from_db()
    assert due.days_late(date(2025, 12, 1)) == 49
    assert DueDate.objects.outstanding().get(member=due.member).due_on == following


def test_there_is_no_phantom_overdue_in_between() -> None:
    due = yearly(from_done=False)
    look(due, date(2025, 6, 3))
    walk = (date(2025, 6, 3) + timedelta(days=days) for days in range(0, 316, 7))
    assert not any(DueDate.objects.overdue(on).exists() for on in walk)


# Results


def test_watch_halves_the_interval_and_a_sound_look_restores_it() -> None:
    repair = logged()
    look(planned(repair), date(2026, 6, 4))
    look(planned(repair), date(2026, 11, 4), Result.WATCH)
    sooner = planned(repair)
    assert sooner.due_on == date(2027, 2, 4)
    assert "common practice, no source" in sooner.set_because
    look(sooner, date(2027, 2, 4))
    assert planned(repair).due_on == date(2027, 5, 4)


def test_redo_fails_the_repair_and_calls_off_its_looks() -> None:
    repair = logged()
    found = look(planned(repair), date(2026, 6, 4), Result.REDO)
    repair.refresh_from_db()
    assert found.opened_defect is not None
    assert (repair.state, repair.failed_on) == ("failed", date(2026, 6, 4))
    assert not DueDate.objects.outstanding().filter(repair=repair).exists()


def test_a_failed_coating_leaves_the_repair_standing() -> None:
    repair = logged()
    look(planned(repair), date(2026, 6, 4), Result.REDO, defect_kind="failed_coating")
    repair.refresh_from_db()
    assert repair.state == Repair.State.FINISHED
    assert planned(repair).due_on == date(2026, 8, 4)


def test_what_could_not_be_reached_stays_overdue() -> None:
    due = planned(logged())
    look(due, date(2026, 7, 1), Result.NOT_REACHED)
    due.refresh_from_db()
    assert due.is_overdue(date(2026, 7, 2))
    look(due, date(2026, 7, 9))
    assert due.inspections.count() == 2


def test_a_person_may_name_the_next_day_and_the_series_goes_on() -> None:
    repair, by = logged(), make.UserFactory(first_name="Ash", last_name="Rowan")
    due = planned(repair)
    entry = InspectionEntry(
        make.InspectionFactory.build(
            member=due.member, repair=repair, due=due, looked_on=date(2026, 6, 4)
        ),
        next_look=schedule.NextLook(date(2026, 10, 1), "scaffold stands then"),
    )
    record_inspection(entry, by, date(2026, 6, 4))
    moved = planned(repair)
    assert moved.due_on == date(2026, 10, 1)
    assert moved.set_because == "Set by Ash Rowan: scaffold stands then"
    look(moved, date(2026, 10, 1))
    assert planned(repair).due_on == date(2027, 5, 4)


def test_an_extra_sound_look_changes_no_plan() -> None:
    repair = logged()
    extra = make.InspectionFactory(member=repair.member, repair=repair, looked_on=MAY_4)
    assert after_inspection(extra, None, MAY_4) == []
    assert planned(repair).due_on == date(2026, 6, 4)


def test_an_extra_watch_brings_the_next_look_forward() -> None:
    repair = logged()
    look(planned(repair), date(2026, 6, 4))
    extra = make.InspectionFactory(
        member=repair.member, repair=repair, looked_on=date(2026, 6, 20), result=Result.WATCH
    )
    after_inspection(extra, None, date(2026, 6, 20))
    assert planned(repair).due_on == date(2026, 8, 20)


def test_a_date_for_once_is_followed_by_none() -> None:
    due = make.DueDateFactory(kind=DueKind.MEMBER_LOOK, rule=None)
    look(due, date(2026, 6, 4))
    assert not DueDate.objects.outstanding().filter(member=due.member).exists()


# A person's own interval


def test_a_members_own_interval_comes_before_the_rule_set() -> None:
    member = make.MemberFactory()
    make.MemberIntervalFactory(member=member, kind=DueKind.MEMBER_LOOK, months=3)
    pace = pace_for(member, DueKind.MEMBER_LOOK)
    series = pace.series()
    assert isinstance(series, Steps)
    assert series.then_months == 3
    assert pace.words() == "Every 3 months, set for this member: Driving rain"


def test_a_new_interval_moves_the_planned_date_from_the_last_look() -> None:
    due = yearly(from_done=False)
    look(due, date(2025, 4, 15))
    MemberInterval.objects.create(
        member=due.member, kind=DueKind.MEMBER_LOOK, months=6, reason="leaking gutter"
    )
    schedule.pace_changed(due.member, DueKind.MEMBER_LOOK, make.UserFactory())
    assert DueDate.objects.outstanding().get(member=due.member).due_on == date(2025, 10, 15)


# Scenarios 8 and 19


def test_a_replaced_member_has_its_dates_called_off_with_the_reason() -> None:
    due = planned(logged())
    assert schedule.cancel_for_member(due.member, "Replaced by S-SILL-900", MAY_4) == 1
    due.refresh_from_db()
    assert due.cancelled_reason == "Replaced by S-SILL-900"


def close(member: Member, what: str) -> None:
    if what == "removed":
        member.removed_on, member.removed_reason = MAY_4, "decayed"
        member.save()
    elif what == "demolished":
        member.building.demolished_on = MAY_4
        member.building.save()
    else:
        place = member.building.property
        place.given_up_on, place.given_up_reason = MAY_4, "sold"
        place.save()


@pytest.mark.parametrize("what", ["removed", "demolished", "sold"])
def test_what_is_no_longer_looked_after_reminds_nobody(what: str) -> None:
    due = planned(logged())
    before = MAY_4 - timedelta(days=1)
    close(due.member, what)
    assert not DueDate.objects.reminding(MAY_4).exists()
    assert DueDate.objects.reminding(before).get() == due
    assert not due.member.is_looked_after(MAY_4)
    assert due.member.is_looked_after(before)


@pytest.mark.parametrize("what", ["removed", "demolished", "sold"])
def test_a_repair_or_look_entered_late_sets_no_date_there(what: str) -> None:
    due = planned(logged())
    close(due.member, what)
    look(due, MAY_4)
    assert schedule.after_repair(make.RepairFactory(member=due.member), None, MAY_4) == []
    assert not DueDate.objects.outstanding().exists()


def test_every_step_is_kept_in_the_record() -> None:
    due = planned(logged())
    look(due, date(2026, 6, 4))
    assert due.history.count() == 2

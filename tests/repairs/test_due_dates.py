"""Questions asked of all due dates at once, and of one: the two agree."""

import html
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from properties.models import Member
from repairs.due import schedule
from repairs.due.after_look import after_inspection, next_step
from repairs.due.intervals import add_months
from repairs.due.pace import Pace, coming_days, days_by, pace_for, pace_of
from repairs.due.results import LookFound, judge_look
from repairs.due.seasons import SEASONS, PlaceYear
from repairs.due.series import NextStep, Standing
from repairs.due.words import between
from repairs.models import DueDate, DueRule, Inspection
from repairs.models.due_dates import DueKind
from tests.factories import (
    BuildingFactory,
    DueDateFactory,
    DueRuleFactory,
    InspectionFactory,
    MemberFactory,
    MemberIntervalFactory,
    MonthlyNormalFactory,
    RepairFactory,
    StageFactory,
    make_crew,
    make_manager,
)

pytestmark = pytest.mark.django_db
ON = date(2026, 5, 4)
AROUND = (ON - timedelta(days=1), ON, ON + timedelta(days=1))


def sample_dates() -> list[DueDate]:
    """Dates before, on and after the day: to come, done and called off."""
    for due_on in AROUND:
        DueDateFactory(due_on=due_on)
        DueDateFactory(due_on=due_on, done_on=ON)
        DueDateFactory(due_on=due_on, cancelled_on=ON, cancelled_reason="taken out")
    return list(DueDate.objects.all())


def test_outstanding_dates_are_those_that_say_so_themselves() -> None:
    dates = sample_dates()
    assert set(DueDate.objects.outstanding()) == {due for due in dates if due.is_outstanding()}


def test_overdue_dates_are_those_that_say_so_themselves() -> None:
    dates = sample_dates()
    overdue = set(DueDate.objects.overdue(ON))
    assert overdue == {due for due in dates if due.is_overdue(ON)}
    assert [due.days_late(ON) for due in overdue] == [1]
    assert set(DueDate.objects.coming(ON, AROUND[-1])) == (
        set(DueDate.objects.outstanding()) - overdue
    )


def test_a_date_reminds_as_long_as_its_member_is_looked_after() -> None:
    for ends in (None, *AROUND):
        DueDateFactory(member__removed_on=ends, member__removed_reason="rotten" if ends else "")
        DueDateFactory(member__building__demolished_on=ends)
        DueDateFactory(
            member__building__property__given_up_on=ends,
            member__building__property__given_up_reason="sold" if ends else "",
        )
    reminding = {due for due in DueDate.objects.all() if due.member.is_looked_after(ON)}
    assert set(DueDate.objects.reminding(ON)) == reminding
    assert len(reminding) == 6


# The facts that rules ask


def code_of(due: DueDate) -> str:
    rule = pace_for(due.member, due.kind, due.repair).rule
    return rule.code if rule else ""


def a_rule(kind: str, **asked: Any) -> DueRule:
    rule: DueRule = DueRuleFactory(
        code=f"asked-{kind}", place=1, kind=kind, first_months=[], then_months=9, **asked
    )
    return rule


@time_machine.travel(datetime(2026, 11, 28, 12, tzinfo=UTC), tick=False)
def test_the_age_of_a_repair_is_counted_in_whole_years() -> None:
    for began, code in (
        (datetime(2021, 11, 28, 9, tzinfo=UTC), "old-repair-look"),
        (datetime(2021, 11, 29, 9, tzinfo=UTC), "repair-look"),
    ):
        repair = RepairFactory(began_at=began)
        assert code_of(DueDateFactory(member=repair.member, repair=repair)) == code


@pytest.mark.parametrize(("hour", "code"), [(10, "repair-look"), (12, "old-repair-look")])
def test_a_day_begins_by_the_clock_of_the_property(hour: int, code: str) -> None:
    """Noon in Greenwich is past midnight in Auckland, where summer time has begun."""
    member = MemberFactory(building__property__time_zone="Pacific/Auckland")
    began = datetime(2021, 11, 28, 12, tzinfo=UTC)  # 29 November there
    repair = RepairFactory(member=member, began_at=began)
    due = DueDateFactory(member=member, repair=repair)
    with time_machine.travel(datetime(2026, 11, 28, hour, tzinfo=UTC), tick=False):
        assert code_of(due) == code


@pytest.mark.parametrize("on", [date(2026, 3, 29), date(2026, 10, 25)])
def test_no_day_is_lost_or_doubled_where_the_clock_is_put_forward_or_back(on: date) -> None:
    """Every hour of those days in London, by Greenwich, gives the same day and the same look."""
    member = MemberFactory()
    for hour in range(1, 23):
        began = datetime(on.year, on.month, on.day, hour, tzinfo=UTC)
        repair = RepairFactory(member=member, began_at=began)
        first = schedule.after_repair(repair, None, on)[0]
        assert first.counted_from == on
        assert first.due_on == add_months(on, 1)


@time_machine.travel(datetime(2026, 11, 28, 12, tzinfo=UTC), tick=False)
def test_the_age_of_a_coating_is_that_of_its_last_coat() -> None:
    a_rule(DueKind.COATING_LOOK, age_from_years=4)
    repair = RepairFactory(began_at=datetime(2019, 5, 4, 9, tzinfo=UTC))
    due = DueDateFactory(member=repair.member, kind=DueKind.COATING_LOOK)
    assert code_of(due) == "coating-look"
    StageFactory(repair=repair, kind="paint", began_at=datetime(2022, 11, 28, 9, tzinfo=UTC))
    assert code_of(due) == "asked-coating_look"
    again = RepairFactory(member=repair.member, kind="repaint")
    StageFactory(repair=again, kind="paint", began_at=datetime(2022, 11, 29, 9, tzinfo=UTC))
    assert code_of(due) == "coating-look"
    due.repair = repair
    assert code_of(due) == "asked-coating_look"


@time_machine.travel(datetime(2026, 11, 28, 12, tzinfo=UTC), tick=False)
@pytest.mark.parametrize(
    ("installed", "code"),
    [(2016, "asked-member_look"), (2017, "member-look"), (None, "member-look")],
)
def test_the_age_of_a_member_counts_from_its_year(installed: int | None, code: str) -> None:
    a_rule(DueKind.MEMBER_LOOK, age_from_years=10, age_to_years=20)
    member = MemberFactory(installed_year=installed)
    assert code_of(DueDateFactory(member=member, kind=DueKind.MEMBER_LOOK)) == code


def test_the_condition_is_that_of_the_last_look_that_tells_one() -> None:
    due = DueDateFactory(kind=DueKind.MEMBER_LOOK)
    for looked_on, condition, code in (
        (date(2026, 1, 5), "CC3", "major-symptoms-look"),
        (date(2026, 2, 5), "", "major-symptoms-look"),
        (date(2026, 3, 5), "CC2", "symptoms-look"),
        (date(2026, 4, 5), "CC1", "member-look"),
    ):
        InspectionFactory(member=due.member, looked_on=looked_on, condition=condition)
        assert code_of(due) == code


def test_the_climate_is_known_by_the_twelve_months_of_the_property() -> None:
    member = MemberFactory(use_class="3.2")
    due = DueDateFactory(member=member, kind=DueKind.MEMBER_LOOK)
    for month in range(1, 13):
        assert code_of(due) == "member-look"
        MonthlyNormalFactory(
            property=member.building.property, month=month, mean_c=15, rain_days=15
        )
    assert code_of(due) == "wet-in-high-hazard-look"


def test_only_what_some_rule_asks_is_read() -> None:
    """Of a door whose rules ask for the condition alone: the rules, its own interval, that."""
    due = DueDateFactory(member__kind="door", kind=DueKind.MEMBER_LOOK)
    DueRule.objects.update(seasons=[])
    with CaptureQueriesContext(connection) as found:
        pace_of(due)
    assert len(found) == 3


# Seasons and frost where a member stands


def placed(latitude: float | None, **mean: float) -> Member:
    member = MemberFactory(building__latitude=latitude, kind="cladding", exposure="severe")
    for month in range(1, 13) if mean else ():
        MonthlyNormalFactory(
            property=member.building.property, month=month, rain_days=9,
            mean_c=mean.get(f"m{month}", 12),
        )  # fmt: skip
    return member


def painted(member: Member, on: date) -> dict[str, DueDate]:
    began = datetime(on.year, on.month, on.day, 1, tzinfo=UTC)
    repair = RepairFactory(member=member, kind="repaint", zone="whole", began_at=began)
    return {due.kind: due for due in schedule.after_repair(repair, None, on)}


@pytest.mark.parametrize(
    ("latitude", "look_on", "words"),
    [
        (51.5, date(2027, 5, 31), "Moved from 20 August 2027, to be in spring."),
        (-36.8, date(2027, 10, 1), "Moved from 20 August 2027, to be in spring."),
        (None, date(2027, 5, 31), "No place is recorded: north of the equator is taken."),
    ],
)
def test_spring_is_where_the_building_stands(
    latitude: float | None, look_on: date, words: str
) -> None:
    due = painted(placed(latitude), date(2026, 8, 20))["coating_look"]
    assert due.due_on == look_on
    assert words in due.set_because
    assert due.counted_from == date(2026, 8, 20)


def test_another_building_of_the_property_tells_where_it_stands() -> None:
    member = placed(None)
    BuildingFactory(property=member.building.property, latitude=-36.8, longitude=174.7)
    assert painted(member, date(2026, 8, 20))["coating_look"].due_on == date(2027, 10, 1)


def test_a_repaint_is_moved_out_of_the_months_with_frost() -> None:
    """Three years on it would be 10 January; the nearest two months free of frost end later."""
    no_months = painted(placed(51.5), date(2026, 1, 10))["repaint"]
    assert no_months.due_on == date(2028, 11, 30)
    assert "The months here are not recorded: frost is taken December" in no_months.set_because
    cold = placed(51.5, m11=1.0, m12=-2.0, m1=-4.0, m2=0.0, m3=2.0)
    repaint = painted(cold, date(2026, 1, 10))["repaint"]
    assert repaint.due_on == date(2028, 10, 31)
    assert repaint.set_because.endswith(
        "Moved from 10 January 2029, to be in spring, summer or autumn and out of frost."
    )


def after(due: DueDate, result: str, looked_on: date) -> NextStep | None:
    return next_step(pace_of(due), due.standing(), looked_on, judge_look(LookFound(result)))


def test_a_look_in_spring_keeps_its_season_without_drift() -> None:
    """Its own day is 20 August; each year's look is moved from there, not from the last."""
    due = painted(placed(51.5), date(2026, 8, 20))["coating_look"]
    assert coming_days(due) == [date(year, 5, 31) for year in (2027, 2028, 2029, 2030)]
    for year in (2028, 2029, 2030):
        step = after(due, Inspection.Result.SOUND, due.due_on)
        assert step is not None
        due.due_on, due.step, due.counted_from = step.due_on, step.step, step.counted_from
        assert due.due_on == date(year, 5, 31)


def test_a_door_is_looked_at_in_spring_and_in_autumn() -> None:
    """Half a year after either is out of season: never less than half the time lies between."""
    door = DueDateFactory(
        member__kind="door", member__building__latitude=51.5, kind=DueKind.MEMBER_LOOK,
        rule=DueRule.objects.get(code="door-look"), counted_from=date(2026, 7, 15),
        due_on=date(2027, 3, 31), window_days=30,
    )  # fmt: skip
    found = coming_days(door, 5)
    assert [day.month for day in found] == [3, 10, 3, 10, 3]
    assert all(later - day >= timedelta(days=100) for day, later in pairwise(found))


@given(
    counted_from=st.dates(date(2000, 1, 1), date(2060, 12, 31)),
    months=st.sampled_from([1, 2, 3, 6, 12, 24, 36, 60]),
    fixed=st.sampled_from([[], [], ["02-29"], ["04-15", "10-15"], ["01-10", "05-31", "08-31"]]),
    seasons=st.lists(st.sampled_from(sorted(SEASONS)), unique=True),
    frost=st.booleans(),
    from_done=st.booleans(),
    south=st.booleans(),
    late=st.integers(0, 200),
)
def test_the_days_of_any_rule_rise_and_are_all_allowed(
    counted_from: date, months: int, fixed: list[str], seasons: list[str], frost: bool,
    from_done: bool, south: bool, late: int,
) -> None:  # fmt: skip
    rule = DueRule(then_months=months, fixed_days=fixed, from_done=from_done, window_days=10)
    days = PlaceYear(-40 if south else 40).days(seasons, frost, rule.window_days)
    pace = Pace(rule, None, days)
    first = pace.first_date(counted_from, counted_from)
    assert first is not None
    standing = Standing(first.counted_from, first.due_on, first.step, rule.window_days)
    found = days_by(pace, standing, 6, counted_from + timedelta(days=late))
    assert counted_from < found[0]
    assert all(earlier < later for earlier, later in pairwise(found))
    if days.months():
        assert all(day.month in days.months() for day in found)


def test_watch_waits_for_no_season() -> None:
    due = painted(placed(51.5), date(2026, 5, 10))["coating_look"]
    found = after(due, Inspection.Result.WATCH, date(2027, 5, 10))
    assert found is not None
    assert found.due_on == date(2027, 11, 10)


def test_a_rule_for_a_condition_and_the_look_that_found_it_do_not_halve_twice() -> None:
    due = DueDateFactory(
        kind=DueKind.MEMBER_LOOK, rule=DueRule.objects.get(code="member-look"),
        due_on=date(2026, 5, 4), counted_from=date(2025, 5, 4),
    )  # fmt: skip
    look = InspectionFactory(
        member=due.member, due=due, looked_on=date(2026, 5, 4), result="watch", condition="CC3"
    )
    [following] = after_inspection(look, None, date(2026, 5, 4))
    assert following.rule is not None
    assert following.rule.code == "major-symptoms-look"
    assert following.due_on == date(2026, 6, 4)
    look.result = Inspection.Result.SOUND
    due.done_on = None
    [sound] = after_inspection(look, None, date(2026, 5, 4))
    assert sound.due_on == date(2026, 8, 4)


def test_an_interval_of_its_own_comes_round_in_every_season() -> None:
    member = placed(51.5)
    MemberIntervalFactory(member=member, kind=DueKind.COATING_LOOK, months=2)
    due = painted(member, date(2026, 8, 20))["coating_look"]
    assert (due.due_on, due.window_days) == (date(2026, 10, 20), 30)
    MemberIntervalFactory(member=member, kind=DueKind.REPAINT, months=6)
    pace = pace_for(member, DueKind.REPAINT)
    first = pace.first_date(date(2026, 7, 10), date(2026, 7, 10))
    assert first is not None
    assert "out of frost" in first.moved
    assert first.due_on == date(2026, 11, 30)


# The page of a date


def test_a_date_says_its_window_its_rule_and_why_no_rule_above_it(client: Client) -> None:
    client.force_login(make_manager())
    due = painted(placed(51.5), date(2026, 8, 20))["coating_look"]
    page = html.unescape(client.get(due.get_absolute_url()).content.decode())
    assert "between 1 and 31 May 2027" in page
    assert "Moved from 20 August 2027, to be in spring." in page
    assert due.rule is not None
    assert due.rule.get_absolute_url() in page
    assert "does not fit by finish: tinted clear finish" in page
    assert "semi-stable: cladding" in page.lower()


def test_a_date_by_a_rule_that_no_longer_fits_says_which_comes_next(client: Client) -> None:
    client.force_login(make_manager())
    due = DueDateFactory(
        member__kind="door", kind=DueKind.MEMBER_LOOK,
        rule=DueRule.objects.get(code="member-look"),
    )  # fmt: skip
    page = html.unescape(client.get(due.get_absolute_url()).content.decode())
    assert "By another rule, the first that fits now: Door: a look in spring" in page
    assert "Door: a look in spring and in autumn: fits now: the next date follows it." in page
    assert "Inside, never wetted: a look every 3 years: does not fit by use class: 1." in page


def test_a_date_of_a_persons_own_names_no_rule(client: Client) -> None:
    client.force_login(make_crew())
    due = DueDateFactory(set_because="Set by Ash Rowan: storm", set_by="person")
    page = client.get(due.get_absolute_url()).content.decode()
    assert "Set by Ash Rowan: storm" in page
    assert "The rules above it" not in page


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ((2027, 4, 1), (2027, 4, 15), "between 1 and 15 April 2027"),
        ((2027, 3, 30), (2027, 4, 15), "between 30 March and 15 April 2027"),
        ((2026, 12, 30), (2027, 1, 5), "between 30 December 2026 and 5 January 2027"),
        ((2027, 4, 15), (2027, 4, 15), "on 15 April 2027"),
    ],
)
def test_a_window_is_told_as_two_days(
    first: tuple[int, int, int], last: tuple[int, int, int], words: str
) -> None:
    assert between(date(*first), date(*last)) == words

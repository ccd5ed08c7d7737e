"""Setting all dates anew by the rules: the same day as for one member, what stands, and what is
kept of it."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from threading import Barrier, Thread
from typing import Any

import icalendar
import pytest
import time_machine
from django.core.management import call_command
from django.db import connection
from django.test import Client

from properties.models import Member
from repairs.due.after_look import heeded, judged, next_step
from repairs.due.bulk import dates_anew
from repairs.due.bulk_write import Written, write
from repairs.due.pace import pace_for, pace_of
from repairs.models import CalendarFeed, DueDate, DueRule, Inspection, Repair
from repairs.models.due_dates import DueKind
from tests import factories as make

NOW = datetime(2026, 11, 28, 10, 0, tzinfo=UTC)
TODAY = NOW.date()
SetBy = DueDate.SetBy
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]


@pytest.fixture
def now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def rule(code: str = "yearly", **facts: Any) -> DueRule:
    """The only rule for looks at members, unless a test adds others."""
    DueRule.objects.filter(kind=DueKind.MEMBER_LOOK).exclude(pk__in=OURS).update(in_force=False)
    made: DueRule = make.DueRuleFactory(
        code=code,
        **{
            "kind": DueKind.MEMBER_LOOK, "first_months": [], "then_months": 12,
            "words": f"By {code}", "window_days": 30, **facts,
        },
    )  # fmt: skip
    OURS.append(made.pk)
    return made


OURS: list[int] = []


@pytest.fixture(autouse=True)
def _no_rules_yet() -> None:
    OURS.clear()


def planned(by: DueRule, began: date = date(2026, 5, 4), **facts: Any) -> DueDate:
    """A first look a year after it began, entered on that day."""
    with time_machine.travel(datetime(began.year, began.month, began.day, 9, tzinfo=UTC)):
        due: DueDate = make.DueDateFactory(
            **{
                "kind": by.kind, "rule": by, "counted_from": began, "window_days": 30,
                "due_on": began.replace(year=began.year + 1), "set_because": by.words, **facts,
            }
        )  # fmt: skip
    return due


def change(of: DueRule | None, **facts: Any) -> None:
    assert of is not None
    for name, value in facts.items():
        setattr(of, name, value)
    of.save()


def set_anew(members: Any = None) -> Written:
    return write(dates_anew(members if members is not None else Member.objects.all(), TODAY), None)


def day(due: DueDate) -> date:
    due.refresh_from_db()
    return due.due_on


# The same day as for one member


def by_one(due: DueDate) -> tuple[Any, ...]:
    """What the schedule gives for one date."""
    pace, step = pace_of(due), None
    before = DueDate.objects.filter(member=due.member, kind=due.kind, repair=due.repair)
    look = Inspection.objects.filter(due__in=before.exclude(done_on=None)).first()
    if look is not None and look.due is not None:
        verdict = heeded(pace, judged(look))
        step = next_step(pace, look.due.standing(), look.looked_on, verdict)
    else:
        step = pace.first_date(due.counted_from, due.history.earliest().history_date.date())
    if step is None or pace.rule is None:
        return due.due_on, due.step, due.counted_from, due.window_days, due.rule_id
    return step.due_on, step.step, step.counted_from, pace.window_days(), pace.rule.pk


def any_rules(chance: random.Random, kind: str) -> None:
    """Conditions of every sort, the last fitting all."""
    asks: list[dict[str, Any]] = [
        {"member_kind": "door", "then_months": 6, "first_months": [1, 6]},
        {"exposure": "severe", "worst_condition": "CC2", "then_months": 3, "from_done": True},
        {"climate": "high", "then_months": 8, "seasons": ["spring", "autumn"]},
        {"climate": "low", "then_months": 30, "frost_free": True},
        {"age_from_years": 5, "age_to_years": 12, "fixed_days": ["04-15", "10-15"]},
        {"repair_kind": "splice", "then_months": 5, "frost_free": True},
        {"temporary": True, "then_months": 2, "from_done": True},
    ]
    chance.shuffle(asks)
    for place, ask in enumerate([*asks[:4], {"then_months": chance.choice([4, 9, 24])}]):
        make.DueRuleFactory(
            code=f"{kind}-{place}".replace("_", "-"), kind=kind, place=place,
            **{
                "first_months": [], "from_done": chance.random() < 0.3,
                "window_days": chance.choice([7, 30]), "words": f"Rule {place}", **ask,
            },
        )  # fmt: skip


def any_place(chance: random.Random) -> Any:
    building = make.BuildingFactory(latitude=chance.choice([None, 51, -37]), longitude=0)
    mean, rain = chance.choice([(1, 2), (12, 9), (22, 18)])
    for month in range(1, 13) if chance.random() < 0.8 else ():
        make.MonthlyNormalFactory(
            property=building.property, month=month, mean_c=mean + month % 4, rain_days=rain
        )
    return building


def any_date(chance: random.Random, building: Any, kind: str) -> DueDate:
    member = make.MemberFactory(
        building=building, kind=chance.choice(["door", "sill"]),
        exposure=chance.choice(["severe", "partly"]),
        installed_year=chance.choice([None, 2016, 2024]),
    )  # fmt: skip
    began = date(2024, 1, 1) + timedelta(days=chance.randrange(900))
    repair = None
    if kind != DueKind.MEMBER_LOOK:
        repair = make.RepairFactory(
            member=member, kind=chance.choice([Repair.Kind.SPLICE, Repair.Kind.REPAINT]),
            temporary=chance.random() < 0.3,
            began_at=datetime(began.year, began.month, began.day, 9, tzinfo=UTC),
        )  # fmt: skip
    of = DueRule.objects.get(code=f"{kind}-0".replace("_", "-"))
    facts: dict[str, Any] = {"member": member, "kind": kind, "repair": repair, "rule": of}
    if chance.random() < 0.5:
        done_on = began + timedelta(days=chance.randrange(300, 420))
        before = planned(of, began, **{**facts, "done_on": done_on})
        make.InspectionFactory(
            member=member, repair=repair, due=before, looked_on=done_on,
            condition=chance.choice(["", "CC1", "CC3"]),
            urgency=chance.choice(["", "UC2"]),
            result=chance.choice(["sound", "sound", "watch"]),
        )  # fmt: skip
    return planned(of, began, due_on=began + timedelta(days=730), **facts)


@pytest.mark.parametrize("kind", list(DueKind))
@pytest.mark.parametrize("seed", range(4))
def test_all_at_once_gives_the_same_as_one_by_one(kind: str, seed: int) -> None:
    chance = random.Random(seed)
    DueRule.objects.filter(kind=kind).delete()
    any_rules(chance, kind)
    places = [any_place(chance) for _ in range(4)]
    dates = [any_date(chance, chance.choice(places), kind) for _ in range(25)]
    expected = {due.pk: by_one(due) for due in dates}
    changed = {due.pk for due in dates if by_one(due) != stored(due)}
    assert changed
    set_anew()
    assert {due.pk: stored(DueDate.objects.get(pk=due.pk)) for due in dates} == expected
    assert set_anew() == Written()


def stored(due: DueDate) -> tuple[Any, ...]:
    return due.due_on, due.step, due.counted_from, due.window_days, due.rule_id


def test_a_date_counts_on_from_the_last_look_of_its_series() -> None:
    yearly = rule(from_done=True)
    first = planned(yearly, done_on="2027-05-10")
    due = planned(yearly, member=first.member, counted_from="2027-05-10", due_on="2028-05-10")
    change(yearly, then_months=6, words="Twice a year")
    assert set_anew() == Written(moved=1)
    assert day(due) == date(2027, 11, 10)
    assert due.set_because == "Twice a year"
    assert first.done_on == "2027-05-10"
    assert day(first) == date(2027, 5, 4)


def test_what_the_last_look_found_still_halves_the_time() -> None:
    yearly = rule()
    first = planned(yearly, done_on="2027-05-04")
    make.InspectionFactory(
        member=first.member, due=first, looked_on="2027-05-04", result="watch"
    )  # fmt: skip
    due = planned(yearly, member=first.member, due_on="2027-11-04")
    change(yearly, then_months=8)
    set_anew()
    assert day(due) == date(2027, 9, 4)
    assert "watch" in due.set_because


def test_a_first_date_passes_over_the_days_before_it_was_entered() -> None:
    yearly = rule()
    with time_machine.travel(datetime(2026, 3, 1, 9, tzinfo=UTC)):
        due = make.DueDateFactory(
            kind=DueKind.MEMBER_LOOK, rule=yearly, counted_from="2001-05-04", due_on="2026-05-04",
            step=24, window_days=30,
        )  # fmt: skip
    change(yearly, then_months=24)
    set_anew()
    assert day(due) == date(2027, 5, 4)


def test_a_date_entered_when_it_was_past_stays_overdue() -> None:
    yearly = rule()
    due = make.DueDateFactory(
        kind=DueKind.MEMBER_LOOK, rule=yearly, counted_from="2023-05-04", due_on="2024-05-04",
        window_days=30,
    )  # fmt: skip
    assert set_anew() == Written()
    assert day(due) == date(2024, 5, 4)


def test_a_day_is_moved_into_the_season_that_a_rule_asks() -> None:
    yearly = rule()
    due = planned(yearly, member__building__latitude=51, member__building__longitude=0)
    change(yearly, seasons=["autumn"], then_months=12)
    set_anew()
    assert day(due).month in {9, 10, 11}
    assert "autumn" in due.set_because


# What stands


@pytest.mark.parametrize("set_by", [SetBy.PERSON, SetBy.RATINGS])
def test_what_a_person_or_the_ratings_set_stands(set_by: str) -> None:
    due = planned(rule(), set_by=set_by)
    change(due.rule, then_months=6)
    assert set_anew() == Written()
    assert day(due) == date(2027, 5, 4)


def test_a_date_under_a_members_own_interval_stands() -> None:
    due = planned(rule())
    make.MemberIntervalFactory(member=due.member, kind=DueKind.MEMBER_LOOK, months=12)
    change(due.rule, then_months=6)
    assert set_anew() == Written()
    assert day(due) == date(2027, 5, 4)


@pytest.mark.parametrize(
    "ended",
    [
        {"removed_on": "2026-11-28", "removed_reason": "rotten"},
        {"building__demolished_on": "2026-11-01"},
        {"building__property__given_up_on": "2026-11-01",
         "building__property__given_up_reason": "sold"},
    ],
)  # fmt: skip
def test_what_is_no_longer_looked_after_stands_and_gets_no_date(ended: dict[str, Any]) -> None:
    yearly = rule()
    due = planned(yearly, **{f"member__{name}": value for name, value in ended.items()})
    make.MemberFactory(**ended)
    change(yearly, then_months=6)
    assert set_anew() == Written()
    assert day(due) == date(2027, 5, 4)


def test_a_date_that_an_extra_look_brought_forward_stands() -> None:
    due = planned(rule(), due_on="2026-12-20")
    make.InspectionFactory(member=due.member, looked_on="2026-11-20", result="watch")
    change(due.rule, then_months=8)
    assert set_anew() == Written()
    assert day(due) == date(2026, 12, 20)


def test_a_date_that_no_rule_fits_any_more_stands() -> None:
    due = planned(rule())
    change(due.rule, in_force=False)
    assert set_anew() == Written()
    assert day(due) == date(2027, 5, 4)


def test_a_date_that_was_answered_meanwhile_stands() -> None:
    due = planned(rule())
    change(due.rule, then_months=6)
    changes = dates_anew(Member.objects.all(), TODAY)
    assert [len(part.changes) for part in changes.parts()] == [1]
    due.answer(TODAY)
    other = make.DueDateFactory(
        member=due.member, kind=DueKind.MEMBER_LOOK, set_by=SetBy.PERSON, due_on="2027-03-01"
    )
    assert write(changes, None) == Written()
    assert (day(due), day(other)) == (date(2027, 5, 4), date(2027, 3, 1))


# Members without a date


def test_a_member_without_a_look_gets_one_counted_from_its_last() -> None:
    rule(then_months=12)
    seen, new = make.MemberFactory(), make.MemberFactory()
    make.InspectionFactory(member=seen, looked_on="2024-02-10")
    make.InspectionFactory(member=seen, looked_on="2026-10-01", result="not_reached")
    make.DueDateFactory(member=seen, kind=DueKind.REPAINT)
    assert set_anew() == Written(first=2)
    first = seen.due_dates.get(kind=DueKind.MEMBER_LOOK)
    assert (first.due_on, first.counted_from) == (date(2027, 2, 10), date(2024, 2, 10))
    assert (first.set_because, first.set_by, first.window_days) == ("By yearly", "rule", 30)
    assert new.due_dates.get().due_on == date(2027, 11, 28)
    assert set_anew() == Written()


def test_a_first_date_follows_a_members_own_interval() -> None:
    rule()
    own = make.MemberIntervalFactory(kind=DueKind.MEMBER_LOOK, months=3)
    set_anew()
    first = own.member.due_dates.get()
    assert first.due_on == date(2027, 2, 28)
    assert own.reason in first.set_because


def test_a_look_that_a_person_called_off_does_not_come_back() -> None:
    due = planned(rule())
    due.call_off(TODAY, "seen from the tower every day")
    assert set_anew() == Written()
    assert DueDate.objects.outstanding().count() == 0


def test_a_member_that_no_rule_fits_gets_no_date() -> None:
    rule(member_kind="door")
    make.MemberFactory(kind="sill")
    assert set_anew() == Written()


# What is kept of it


def test_each_change_is_kept_with_who_made_it_and_calendars_see_it() -> None:
    user, due = make.make_manager(), planned(rule())
    make.MemberFactory()
    feed = make.CalendarFeedFactory(user=user, shows=CalendarFeed.Shows.EVERY)
    before = sequence(feed, due)
    change(due.rule, then_months=6)
    done = write(dates_anew(Member.objects.all(), TODAY), user)
    assert done.in_words() == "1 date moved; 1 member has a first look planned."
    kept = due.history.first()
    assert (kept.history_type, kept.history_user, kept.due_on) == ("~", user, day(due))
    assert kept.history_date == NOW
    assert sequence(feed, due) == before + 1
    entered = DueDate.objects.exclude(pk=due.pk).get().history.get()
    assert (entered.history_type, entered.history_user) == ("+", user)


def sequence(feed: CalendarFeed, due: DueDate) -> int:
    answer = Client().get(feed.get_absolute_url())
    entries: list[Any] = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    return int(next(each for each in entries if due.member.mark in each["SUMMARY"])["SEQUENCE"])


def test_the_history_keeps_every_field_of_the_row() -> None:
    due = planned(rule(), person=make.make_crew())
    change(due.rule, then_months=6)
    set_anew()
    due.refresh_from_db()
    kept = due.history.first()
    for one in DueDate._meta.concrete_fields:
        assert getattr(kept, one.attname) == getattr(due, one.attname)


@pytest.mark.django_db(transaction=True)
def test_two_who_send_it_at_once_set_each_date_once() -> None:
    due = planned(rule())
    make.MemberFactory()
    change(due.rule, then_months=6)
    gate, done = Barrier(2), []

    def send() -> None:
        gate.wait()
        done.append(set_anew())
        connection.close()

    both = [Thread(target=send) for _ in range(2)]
    for each in both:
        each.start()
    for each in both:
        each.join()
    assert sorted(each.all for each in done) == [0, 2]
    assert DueDate.objects.count() == 2
    assert due.history.count() == 2


# By command


def told(**options: Any) -> str:
    said = StringIO()
    call_command("set_due_dates", stdout=said, **options)
    return said.getvalue().strip()


def test_the_command_says_what_it_did_and_does_it_once() -> None:
    due = planned(rule())
    change(due.rule, then_months=6)
    assert told() == "1 date moved."
    assert day(due) == date(2026, 11, 4)
    assert told() == "Nothing changed: every date stands where the rules put it."


def test_a_dry_run_says_what_would_change_and_changes_nothing() -> None:
    due = planned(rule())
    change(due.rule, then_months=6)
    assert told(dry_run=True) == (
        "1 of 1 date that a rule set would move: 1 sooner. One date would be overdue as soon as "
        "set."
    )
    assert day(due) == date(2027, 5, 4)


def test_only_the_members_asked_for_are_set() -> None:
    yearly = rule()
    here, there = planned(yearly), planned(yearly)
    change(yearly, then_months=6)
    set_anew(Member.objects.filter(pk=here.member_id))
    assert (day(here), day(there)) == (date(2026, 11, 4), date(2027, 5, 4))


def test_the_pace_of_one_member_agrees() -> None:
    """The rule that is told on the member's own page is the one that set the date."""
    rule()
    doors = rule("doors", member_kind="door", then_months=6, place=0)
    change(DueRule.objects.get(code="yearly"), place=5)
    member = make.MemberFactory(kind="door")
    set_anew()
    assert member.due_dates.get().rule == doors == pace_for(member, DueKind.MEMBER_LOOK).rule

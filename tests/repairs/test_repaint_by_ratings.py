"""The repaint moved to where the ratings of a coating, and of those like it, say it will be due."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from properties.models import Member
from repairs.due import repaint_by_ratings as by_ratings
from repairs.due import schedule
from repairs.due.coats import NEWEST_RATINGS
from repairs.due.pace import pace_for
from repairs.due.repaint_by_ratings import NoEstimate, RepaintEstimate
from repairs.looks.record import InspectionEntry, record_inspection
from repairs.models import DueDate, DueRule, Inspection, Repair, Stage
from repairs.models.due_dates import DueKind
from tests import factories as make

pytestmark = pytest.mark.django_db
PAINTED = date(2022, 5, 3)
BY_RULE = date(2032, 5, 3)


@pytest.fixture(autouse=True)
def rule() -> DueRule:
    """Painted every ten years, at class 3, and by twenty years at the latest."""
    DueRule.objects.filter(kind=DueKind.REPAINT).update(in_force=False)
    return make.DueRuleFactory(
        code="ten-years", kind=DueKind.REPAINT, first_months=[], then_months=120, from_done=True,
        repaint_at=3, latest_months=240, window_days=60, words="Painted every ten years", place=1,
    )  # fmt: skip


def painted(on: date = PAINTED, zone: str = "whole", **member: Any) -> Member:
    of = member.pop("member", None) or make.MemberFactory(
        **{"finish": "paint", "exposure": "severe", **member}
    )
    at = datetime(on.year, on.month, on.day, 12, tzinfo=UTC)
    repair = make.RepairFactory(member=of, zone=zone, began_at=at)
    make.StageFactory(repair=repair, kind=Stage.Kind.PAINT, began_at=at)
    schedule.after_repair(repair, None, on)
    return of


def look(member: Member, on: date, **facts: Any) -> Inspection:
    found = make.InspectionFactory.build(member=member, looked_on=on, **facts)
    return record_inspection(InspectionEntry(found), make.UserFactory(), on)


def rated(member: Member, *ratings: tuple[int, str]) -> Member:
    for years, rating in ratings:
        on = date(PAINTED.year + years, PAINTED.month, PAINTED.day)
        make.InspectionFactory(member=member, looked_on=on, flaking=Decimal(rating))
    return member


def repaint(member: Member) -> DueDate:
    return DueDate.objects.outstanding().get(member=member, kind=DueKind.REPAINT)


def estimate(member: Member) -> RepaintEstimate:
    found = by_ratings.repaint_estimate(member)
    assert found is not None
    return found


# The planned repaint


def test_a_coating_that_wears_fast_is_painted_sooner_and_the_date_says_why() -> None:
    member = painted()
    look(member, date(2025, 5, 3), flaking=Decimal(1))
    look(member, date(2026, 5, 3), flaking=Decimal(2), cracking=Decimal(1), chalking=Decimal(5))
    due = repaint(member)
    assert due.set_by == "ratings"
    assert date(2027, 1, 1) < due.due_on < date(2030, 1, 1)
    assert due.set_because == (
        f"Flaking 2 after 4 years: class 3 is likely in {due.due_on.year} (2027 to 2029), by 2 "
        "looks here and the rule as a first guess; no coating so old was rated yet. By rule it was "
        "3 May 2032"
    )


def test_a_day_that_no_rating_bears_out_says_so_and_one_that_some_do_does_not() -> None:
    member = rated(painted(), (2, "1"), (3, "1"))
    assert "; no coating so old was rated yet." in estimate(member).words
    for _ in range(3):
        rated(painted(), (6, "3"), (8, "4"))
    found = estimate(member)
    assert found.likely is not None
    assert not found.is_beyond(found.likely)
    assert "so old" not in found.words
    assert found.is_beyond(PAINTED + timedelta(days=366 * 9))


def test_no_year_is_told_that_lies_beyond_any_known_life_of_a_coating() -> None:
    """One half class after four years: by the upper edge of the band in 2031 already, by the
    lower one not within 30 years."""
    found = estimate(rated(painted(), (3, "0"), (4, "0.5")))
    assert found.low is not None
    assert found.high is None
    assert found.expected_words.endswith("or later)")
    never = estimate(rated(painted(), (6, "0"), (8, "0"), (10, "0"), (12, "0")))
    assert never.likely is None
    assert never.day == never.latest == date(2042, 5, 3)


def test_good_ratings_put_it_off_but_never_beyond_the_latest() -> None:
    member = painted()
    look(member, date(2026, 5, 3), flaking=Decimal(0))
    assert repaint(member).due_on > BY_RULE
    for year in range(2027, 2032):
        look(member, date(year, 5, 3), flaking=Decimal(0), cracking=Decimal(0))
    due = repaint(member)
    assert due.due_on == date(2042, 5, 3)
    assert "However good the ratings, painted by 3 May 2042" in due.set_because


def test_a_latest_day_that_was_past_at_the_look_is_told_with_the_day_that_follows() -> None:
    member = painted(date(2005, 5, 3))
    look(member, date(2026, 5, 3), flaking=Decimal("0.5"))
    due = repaint(member)
    assert due.due_on == date(2026, 5, 4)
    assert (
        "However good the ratings, painted by 3 May 2025: past when it was looked at, so the day "
        "after that look. By rule" in due.set_because
    )


def test_without_a_latest_it_is_put_off_to_twice_the_interval(rule: DueRule) -> None:
    rule.latest_months = None
    rule.save()
    member = painted()
    for year in range(2026, 2032):
        look(member, date(year, 5, 3), flaking=Decimal(0))
    assert repaint(member).due_on == BY_RULE + (BY_RULE - PAINTED)


def test_a_class_that_is_reached_asks_for_paint_the_day_after() -> None:
    member = painted()
    look(member, date(2026, 5, 3), cracking=Decimal("3.5"))
    due = repaint(member)
    assert due.due_on == date(2026, 5, 4)
    assert due.set_because == (
        "Cracking 3.5 after 4 years: class 3 is reached. By rule it was 3 May 2032"
    )


@pytest.mark.parametrize("flaking", [Decimal("0.5"), Decimal(4)])
def test_another_look_at_a_coat_that_is_overdue_makes_it_no_less_so(flaking: Decimal) -> None:
    member = painted(date(2005, 5, 3))
    look(member, date(2026, 5, 3), flaking=flaking)
    overdue = repaint(member).due_on
    look(member, date(2026, 11, 3), flaking=flaking)
    assert repaint(member).due_on == overdue == date(2026, 5, 4)


def test_it_is_moved_into_the_season_for_painting(rule: DueRule) -> None:
    DueRule.objects.filter(pk=rule.pk).update(seasons=["summer"], frost_free=True)
    member = painted()
    look(member, date(2026, 10, 3), cracking=Decimal(4))
    due = repaint(member)
    assert due.due_on.month in (6, 7, 8)
    assert due.due_on > date(2026, 10, 3)
    assert "Moved from 4 October 2026" in due.set_because


@pytest.mark.parametrize("facts", [{}, {"chalking": Decimal(5)}, {"cross_cut": Decimal(5)}])
def test_a_look_that_does_not_rate_the_coating_moves_nothing(facts: dict[str, Any]) -> None:
    member = painted()
    look(member, date(2026, 5, 3), **facts)
    assert (repaint(member).due_on, repaint(member).set_by) == (BY_RULE, "rule")


def test_a_rule_without_a_class_moves_nothing(rule: DueRule) -> None:
    DueRule.objects.filter(pk=rule.pk).update(repaint_at=None, latest_months=None)
    member = painted()
    look(member, date(2026, 5, 3), flaking=Decimal(5))
    assert repaint(member).due_on == BY_RULE
    assert by_ratings.estimate_or_why(member) == NoEstimate(by_ratings.NO_CLASS)


def test_a_persons_date_is_never_moved_and_the_estimate_stands_beside_it() -> None:
    member = painted()
    due = repaint(member)
    due.move(date(2031, 7, 1), "Set by Ash Rowan: scaffold stands then", DueDate.SetBy.PERSON)
    look(member, date(2026, 5, 3), flaking=Decimal(2))
    assert repaint(member).due_on == date(2031, 7, 1)
    assert estimate(member).day < date(2031, 7, 1)


def test_a_persons_own_interval_for_the_member_is_not_moved_either() -> None:
    member = painted()
    make.MemberIntervalFactory(member=member, kind=DueKind.REPAINT, months=96)
    look(member, date(2026, 5, 3), flaking=Decimal(2))
    assert repaint(member).set_by == "rule"
    assert estimate(member).rule_day == date(2030, 5, 3)


def test_without_that_interval_the_ratings_hold_again() -> None:
    member = painted()
    look(member, date(2026, 5, 3), flaking=Decimal(2))
    asked = repaint(member).due_on
    own = make.MemberIntervalFactory(member=member, kind=DueKind.REPAINT, months=96)
    schedule.pace_changed(member, DueKind.REPAINT, make.UserFactory())
    assert (repaint(member).due_on, repaint(member).set_by) == (date(2030, 5, 3), "rule")
    own.delete()
    schedule.pace_changed(member, DueKind.REPAINT, make.UserFactory())
    assert (repaint(member).due_on, repaint(member).set_by) == (asked, "ratings")


def test_a_repaint_entered_after_the_looks_at_it_is_dated_by_their_ratings() -> None:
    member = make.MemberFactory(finish="paint", exposure="severe")
    rated(member, (3, "1"), (4, "2"))
    at = datetime(2022, 5, 3, 12, tzinfo=UTC)
    repair = make.RepairFactory(member=member, kind=Repair.Kind.REPAINT, began_at=at)
    due = schedule.repaint_after(repair, None, date(2026, 11, 28))
    assert due is not None
    assert (due.set_by, repaint(member)) == ("ratings", due)


def test_the_order_in_which_looks_are_entered_means_nothing() -> None:
    days = {date(2024, 5, 3): "0.5", date(2025, 5, 3): "1", date(2026, 5, 3): "2"}
    forward, backward = painted(), painted()
    for day, rating in days.items():
        look(forward, day, flaking=Decimal(rating))
    for day, rating in reversed(days.items()):
        look(backward, day, flaking=Decimal(rating))
    ours, theirs = repaint(forward), repaint(backward)
    assert abs(ours.due_on - theirs.due_on) <= timedelta(days=1)
    assert ours.set_because == theirs.set_because


def test_where_the_ratings_are_taken_back_the_rule_holds_again() -> None:
    member = painted()
    look(member, date(2026, 5, 3), flaking=Decimal(2))
    Inspection.objects.filter(member=member).update(flaking=None)
    assert by_ratings.move_repaint(member) == [repaint(member)]
    due = repaint(member)
    assert (due.due_on, due.set_by, due.set_because) == (BY_RULE, "rule", "Painted every ten years")
    assert by_ratings.move_repaint(member) == []


def test_each_move_is_kept_in_the_record() -> None:
    member = painted()
    look(member, date(2026, 5, 3), flaking=Decimal(2))
    history = list(repaint(member).history.order_by("history_id"))
    assert [row.set_by for row in history] == ["rule", "ratings"]


def test_a_member_no_longer_looked_after_has_nothing_moved() -> None:
    member = painted()
    place = member.building.property
    place.given_up_on, place.given_up_reason = date(2026, 1, 1), "sold"
    place.save()
    look(member, date(2026, 5, 3), flaking=Decimal(4))
    assert (repaint(member).due_on, repaint(member).set_by) == (BY_RULE, "rule")


# Which ratings count


def test_painting_anew_begins_a_new_coating() -> None:
    member = painted()
    look(member, date(2026, 5, 3), flaking=Decimal(3))
    painted(date(2026, 9, 1), member=member)
    assert repaint(member).due_on == date(2036, 9, 1)
    assert by_ratings.repaint_estimate(member) is None
    look(member, date(2028, 9, 1), flaking=Decimal(0))
    assert [each.day for each in estimate(member).ratings] == [date(2028, 9, 1)]


def test_a_painted_patch_begins_none() -> None:
    member = painted()
    look(member, date(2025, 5, 3), flaking=Decimal(2))
    painted(date(2026, 5, 3), zone="left", member=member)
    assert estimate(member).painted_on == PAINTED


def test_a_withdrawn_repaint_counts_for_nothing() -> None:
    member = painted()
    make.RepairFactory(
        member=member, kind=Repair.Kind.REPAINT, state=Repair.State.WITHDRAWN,
        began_at=datetime(2025, 5, 3, 12, tzinfo=UTC),
    )  # fmt: skip
    rated(member, (4, "2"))
    assert estimate(member).painted_on == PAINTED


def test_without_a_day_of_painting_there_is_no_estimate_and_that_is_told() -> None:
    member = rated(make.MemberFactory(), (4, "2"))
    assert by_ratings.estimate_or_why(member) == NoEstimate(by_ratings.NOT_PAINTED)


def test_the_same_look_recorded_by_two_people_counts_once_at_its_worst() -> None:
    once, twice = rated(painted(), (4, "2")), rated(painted(), (4, "2"), (4, "1"))
    assert estimate(once).words == estimate(twice).words
    assert estimate(twice).curve.own == 1


def test_a_patch_painted_later_tells_nothing_of_the_coat_around_it() -> None:
    member = rated(painted(), (4, "2"))
    patches = {}
    for day in (date(2025, 5, 3), date(2021, 5, 3)):
        at = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
        patches[day] = make.RepairFactory(member=member, zone="left", began_at=at)
        make.StageFactory(repair=patches[day], kind=Stage.Kind.PAINT, began_at=at)
    newer, older = patches.values()
    looked_on = date(2026, 6, 1)
    make.InspectionFactory(
        member=member, repair=newer, zone="left", looked_on=looked_on, flaking=Decimal(0)
    )
    assert estimate(member).curve.own == 1
    make.InspectionFactory(
        member=member, repair=older, zone="left", looked_on=looked_on, flaking=Decimal(3)
    )
    assert estimate(member).is_reached


def test_a_look_that_did_not_reach_the_member_rates_nothing() -> None:
    member = rated(painted(), (4, "1"))
    make.InspectionFactory(
        member=member, looked_on=date(2027, 5, 3), flaking=Decimal(5), result="not_reached"
    )
    assert estimate(member).curve.own == 1


def test_like_coatings_are_those_of_the_same_finish_and_exposure_anywhere() -> None:
    member = painted()
    for _ in range(3):
        rated(painted(), (3, "2"), (4, "3"))
    rated(painted(exposure="sheltered"), (4, "0"))
    rated(painted(finish="solid_stain"), (4, "0"))
    found = estimate(member)
    assert (found.curve.like, found.curve.coatings) == (6, 3)
    assert found.words.startswith("Not rated yet since it was painted in May 2022: class 3 is")
    assert found.words.endswith("by 6 ratings of 3 like coatings.")
    assert found.likely is not None
    assert found.likely < BY_RULE


@pytest.mark.parametrize("unknown", [{"finish": "unknown"}, {"exposure": "unknown"}])
def test_of_a_member_not_described_nothing_is_like(unknown: dict[str, Any]) -> None:
    for _ in range(3):
        rated(painted(**unknown), (4, "3"))
    member = rated(painted(**unknown), (4, "1"))
    assert estimate(member).curve.like == 0


def test_the_earlier_coating_of_the_same_member_is_one_like_it() -> None:
    member = rated(painted(), (4, "3"))
    painted(date(2026, 9, 1), member=member)
    for _ in range(2):
        rated(painted(), (4, "3"))
    assert estimate(member).curve.coatings == 3


def test_many_like_coatings_ask_no_more_questions(django_assert_num_queries: Any) -> None:
    member = rated(painted(), (4, "2"))
    pace = pace_for(member, DueKind.REPAINT)
    for count in (1, 8):
        for _ in range(count):
            rated(painted(), (3, "1"), (4, "2"))
        with django_assert_num_queries(4):
            assert by_ratings.repaint_estimate(member, pace)


def test_of_like_coatings_the_newest_ratings_count() -> None:
    member = rated(painted(), (1, "0"), (4, "2"))
    for other in (painted(), painted(), painted()):
        days = (date(2024, 1, 1) + timedelta(days=n) for n in range(200))
        Inspection.objects.bulk_create(
            make.InspectionFactory.build(member=other, looked_on=day, flaking=Decimal(1))
            for day in days
        )
    found = estimate(member)
    assert (found.curve.own, found.curve.like) == (2, NEWEST_RATINGS)


def test_many_members_at_once_are_told_the_same_as_each_alone(
    django_assert_num_queries: Any,
) -> None:
    members = [rated(painted(), (3, "1"), (4, rating)) for rating in ("1", "2", "3")]
    members += [painted(exposure="sheltered"), rated(painted(finish="unknown"), (4, "2"))]
    paces = {each.pk: pace_for(each, DueKind.REPAINT) for each in members}
    with django_assert_num_queries(11):
        together = by_ratings.repaint_estimates(members, paces)
    alone = {each.pk: by_ratings.repaint_estimate(each) for each in members}
    assert together == {pk: found for pk, found in alone.items() if found is not None}
    assert len(together) == 4

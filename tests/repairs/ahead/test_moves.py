"""Work that is moved: what it saves, what is put off, and what that risks. The example's own."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from properties.models import Defect, Elevation, Property
from repairs.ahead.offers import offers
from repairs.ahead.outlook import Asked, Band, ground_of, jobs_of, outlooks
from repairs.ahead.risks import class_words
from repairs.coating_life import Band as Rating
from repairs.due.repaint_by_ratings import repaint_estimate
from repairs.models import DueDate, DueRule, WorkMove, WorkRate
from tests import factories as make
from tests.repairs.ahead.made import ASKED, FIRST, Example, example

pytestmark = pytest.mark.django_db


def move(place: Example, first: int, last: int, to: int, kind: str = "both", **more) -> WorkMove:
    return make.WorkMoveFactory(
        elevation=place.elevation, first_year=first, last_year=last, to_year=to, kind=kind, **more
    )


def only(asked: Asked = ASKED):
    (found,) = outlooks(Property.objects.all(), asked)
    return found


def work() -> list[tuple[int, Decimal, int]]:
    return [(line.repaints, line.repairs, line.access_visits) for line in only().lines]


def test_2028_brought_forward_to_2027_worked_by_hand():
    """S-2 is then painted in March 2027, 2029 and 2031, and S-3 repaired in June 2027. Two
    scaffolds fewer, 1,600.00, and one repaint more, 125.00: 1,475.00 are saved. Low: 2 × 700.00 −
    110.00; high: 2 × 1,000.00 − 140.00."""
    place = example()
    move(place, 2028, 2028, 2027)
    found = only()
    assert work() == [(2, 1, 1), (0, 0, 0), (2, 0, 1), (0, 0, 0), (2, 0, 1)]
    assert found.today.likely == 501_500 - 147_500
    (effect,) = found.moves
    assert (effect.jobs, effect.access_visits_saved, effect.later) == (2, 2, ())
    assert effect.saves == Band(129_000, 147_500, 186_000)
    assert effect.access_saves == Band(140_000, 160_000, 200_000)
    assert effect.words == (
        "2 jobs move to 2027. In today's money it saves GBP 1,475.00 over these years; for access "
        "alone it is GBP 1,600.00 less. 2 visits of access fewer. 1 repaint more within these "
        "years."
    )


def test_a_moved_job_says_from_which_year():
    place = example()
    move(place, 2028, 2028, 2027)
    jobs = jobs_of(ground_of(place.property, ASKED), 2027)
    moved = {(job.kind, job.mark): job.moved_from for job in jobs if job.kind != "look"}
    assert moved == {
        ("access", ""): None, ("repaint", "S-1"): None, ("repaint", "S-2"): 2028,
        ("repair", "S-3"): 2028,
    }  # fmt: skip


def test_what_is_put_off_is_told_with_its_risk():
    place = example()
    move(place, 2027, 2028, 2029)
    (effect,) = only().moves
    told = {
        (each.mark, each.kind, each.from_year, each.to_year): each.risk for each in effect.later
    }
    assert told == {
        ("S-1", "repaint", 2027, 2029):
            "how far its coating will have gone is not known: no ratings tell it",
        ("S-2", "repaint", 2028, 2029):
            "how far its coating will have gone is not known: no ratings tell it",
        ("S-3", "repair", 2028, 2029):
            "it was to be put right within two years of being found",
    }  # fmt: skip


def test_the_ratings_tell_how_far_a_coating_will_have_gone():
    """S-1 was last painted in May 2026 and cracked to class 1 within seven months. The estimate
    that the member's own page shows says where that stands at the end of 2029."""
    place = example()
    DueRule.objects.filter(kind="repaint").update(repaint_at=Decimal(3))
    make.InspectionFactory(member=place.one, looked_on=date(2026, 12, 1), cracking=Decimal(1))
    move(place, 2027, 2027, 2029)
    (later,) = only().moves[0].later
    estimate = repaint_estimate(place.one)
    assert estimate is not None
    rating = estimate.curve.rating_at((date(2029, 12, 31) - date(2026, 5, 4)).days / 365.2425)
    assert later.risk == (
        f"by the end of 2029 its coating is likely at {class_words(rating)}; the rule paints at 3; "
        "no coating so old was rated yet"
    )


def test_a_coating_still_to_be_painted_is_as_old_as_it_will_be_then():
    """S-1 is painted in 2027 and put off from 2029 to 2030: at the end of 2030 the coating of 2027
    counts, not that of 2026."""
    place = example()
    DueRule.objects.filter(kind="repaint").update(repaint_at=Decimal(3))
    make.InspectionFactory(member=place.one, looked_on=date(2026, 12, 1), cracking=Decimal("0.5"))
    move(place, 2029, 2029, 2030, "repaint")
    (later,) = only().moves[0].later
    painted = DueDate.objects.get(member=place.one, kind="repaint").due_on.replace(day=1)
    estimate = repaint_estimate(place.one)
    assert estimate is not None
    rating = estimate.curve.rating_at((date(2030, 12, 31) - painted).days / 365.2425)
    assert later.risk.startswith(
        "by the end of 2030 the coating of 2027, worn as the one now, is likely at "
        f"{class_words(rating)}; the rule paints at 3"
    )


@pytest.mark.parametrize(
    ("rating", "said"),
    [
        (Rating(2.7, 3.3, 4.1), "class 3.5 (2.5 to 4)"),
        (Rating(4.9, 5, 5), "class 5, the worst there is"),
        (Rating(3.8, 5, 5), "class 5 (4 to 5)"),
        (Rating(0, 0.1, 0.2), "class 0"),
    ],
)
def test_how_far_a_coating_will_have_gone_is_told_in_half_classes(rating, said):
    assert class_words(rating) == said


def test_only_the_kind_that_is_meant_is_moved():
    place = example()
    move(place, 2028, 2028, 2027, "repair")
    assert [row[:2] for row in work()] == [(1, 1), (1, 0), (1, 0), (1, 0), (1, 0)]
    WorkMove.objects.update(kind="repaint")
    assert [row[:2] for row in work()] == [(2, 0), (0, 1), (2, 0), (0, 0), (2, 0)]


def test_a_move_of_one_member_moves_no_other():
    place = example()
    make.WorkMoveFactory(
        elevation=None, property=place.property, member=place.three,
        first_year=2028, last_year=2028, to_year=2030, kind="both",
    )  # fmt: skip
    found = only()
    assert [row[:2] for row in work()] == [(1, 0), (1, 0), (1, 0), (1, 1), (1, 0)]
    assert (found.moves[0].jobs, found.moves[0].saves) == (1, Band())
    assert "It saves nothing over these years." in found.moves[0].words


def test_a_move_that_catches_nothing_says_so():
    place = example()
    move(place, 2033, 2034, 2030, "repair")
    (effect,) = only().moves
    assert (effect.jobs, effect.saves) == (0, None)
    assert effect.words == (
        "It catches nothing: no dated repair falls there in 2033 to 2034 that can go to 2030."
    )


def test_a_move_to_a_year_that_is_past_moves_nothing():
    place = example()
    move(place, 2028, 2028, 2026)
    assert only().today.likely == 501_500


def test_what_is_moved_beyond_the_years_that_are_asked_for_falls_after_them():
    place = example()
    move(place, 2031, 2031, 2032)
    found = only()
    assert work()[4] == (0, 0, 0)
    assert found.moves[0].jobs == 1
    assert "1 repaint falls after these years." in found.moves[0].words


def test_each_move_is_reckoned_beside_the_others():
    """2030 to 2029 alone: one scaffold fewer, and S-2 is painted again in March 2031. Once 2028 is
    moved as well nothing falls in 2030, and it catches nothing."""
    place = example()
    later = move(place, 2030, 2030, 2029)
    (alone,) = only().moves
    assert (alone.jobs, alone.saves.likely) == (1, 80_000 - 12_500)
    move(place, 2028, 2028, 2027)
    effects = {effect.move.pk: effect for effect in only().moves}
    assert effects[later.pk].jobs == 0


def test_a_repaint_that_returns_within_the_years_of_a_move_is_caught_once():
    place = example()
    DueRule.objects.filter(kind="repaint").update(then_months=12)
    move(place, 2027, 2031, 2029, "repaint")
    assert [row[0] for row in work()] == [0, 0, 2, 2, 2]


def test_a_repaint_is_not_taken_back_past_the_one_before_it():
    """S-1 is painted in 2027 anyway: its repaint of 2029 stays, and no other comes of it."""
    place = example()
    move(place, 2029, 2029, 2027, "repaint")
    found = only()
    assert [row[0] for row in work()] == [1, 1, 1, 1, 1]
    assert (found.moves[0].jobs, found.today.likely) == (0, 501_500)


def test_a_move_costs_where_it_brings_more_repaints_than_it_saves_access():
    place = example()
    WorkRate.objects.filter(what="scaffold").delete()
    Elevation.objects.update(access="ground")
    move(place, 2028, 2028, 2027)
    (effect,) = only().moves
    assert effect.saves == Band(-11_000, -12_500, -14_000)
    assert "it costs GBP 125.00 more over these years." in effect.words


def test_access_without_a_price_is_saved_all_the_same_and_says_so():
    place = example()
    WorkRate.objects.filter(what="scaffold").delete()
    move(place, 2028, 2028, 2027)
    (effect,) = only().moves
    assert (effect.access_saves, effect.access_visits_saved) == (None, 2)
    assert "2 visits of access fewer, without a price yet." in effect.words


def test_what_one_move_has_moved_another_leaves_there():
    """The defect of 2028 goes to 2027, and is not sent on from there to 2030."""
    place = example()
    move(place, 2028, 2028, 2027, "repair")
    move(place, 2027, 2027, 2030, "repair")
    assert sorted(effect.jobs for effect in only().moves) == [0, 1]
    assert [row[1] for row in work()] == [1, 0, 0, 0, 0]


def test_a_job_that_two_moves_want_is_told_at_the_one_that_moves_it():
    """S-1 of 2027 goes with its elevation to 2029: the later move of it alone catches nothing,
    and what putting it off risks is told once."""
    place = example()
    move(place, 2027, 2027, 2029, "repaint")
    make.WorkMoveFactory(
        property=place.one.building.property, member=place.one, elevation=None, kind="repaint",
        first_year=2027, last_year=2027, to_year=2028,
    )  # fmt: skip
    whole, single = only().moves
    assert [each.mark for each in whole.later] == ["S-1"]
    assert (whole.jobs, single.jobs, single.saves) == (1, 0, None)


def test_without_any_price_what_a_move_saves_is_not_known():
    place = example(past=False)
    WorkRate.objects.all().delete()
    move(place, 2028, 2028, 2027)
    (effect,) = only().moves
    assert (effect.saves, effect.access_visits_saved) == (None, 2)
    assert "What that saves is not known: none of it has a price." in effect.words


def test_the_outlook_with_its_moves_is_that_without_less_what_they_save():
    place = example()
    before = only().today
    move(place, 2028, 2028, 2027)
    found = only()
    assert found.today == before - found.moves[0].saves


def test_years_that_one_scaffold_can_take_in_are_offered():
    """2027 and 2028 together, in 2027 or 2028, with what moving them saves; nothing is saved."""
    place = example()
    best = offers(ground_of(place.property, ASKED))[0]
    assert (best.move.pk, best.move.elevation) == (None, place.elevation)
    assert best.access_visits_saved >= 1
    best.move.reason = "One scaffold for all of it"
    best.move.full_clean(exclude=["made_by"])
    before = only().today
    best.move.save()
    assert only().today == before - best.saves


def test_the_year_that_saves_a_visit_is_offered_though_another_is_as_near():
    """S-1 of 2027 comes round in 2029 and 2031, S-2 of 2028 in 2031. Both in 2027: four visits, as
    without (2027, 2029, 2030, 2031). Both in 2028: three (2028, 2030, 2031)."""
    place = example()
    Defect.objects.all().delete()
    make.MemberIntervalFactory(member=place.two, kind="repaint", months=36)
    first = min(offers(ground_of(place.property, ASKED)), key=lambda each: each.move.first_year)
    assert (first.move.first_year, first.move.last_year, first.move.to_year) == (2027, 2028, 2028)
    assert (first.access_visits_saved, [each.mark for each in first.later]) == (1, ["S-1"])


def test_what_saves_most_is_offered_first_and_nothing_comes_round_twice_in_an_offer():
    place = example()
    found = offers(ground_of(place.property, ASKED))
    saved = [each.saves.likely for each in found]
    assert saved == sorted(saved, reverse=True)
    assert all(each.move.last_year - each.move.first_year < 2 for each in found)


def test_nothing_is_offered_where_no_access_is_needed_or_nothing_is_planned():
    place = example()
    assert offers(ground_of(make.PropertyFactory(), ASKED)) == []
    Elevation.objects.update(access="ground")
    assert offers(ground_of(place.property, ASKED)) == []


def test_a_repaint_by_season_can_be_moved_too():
    place = example()
    DueRule.objects.filter(kind="repaint").update(seasons=["spring"])
    move(place, 2028, 2028, 2027)
    assert [row[0] for row in work()] == [2, 0, 2, 0, 2]


def test_a_date_that_a_person_set_for_once_is_moved_and_returns_no_more():
    place = example()
    DueDate.objects.filter(member=place.two).update(rule=None)
    move(place, 2028, 2028, 2027)
    assert [row[0] for row in work()] == [2, 0, 1, 0, 1]


def test_into_the_first_year_no_job_falls_before_the_first_day():
    place = example()
    move(place, 2028, 2028, 2027)
    asked = replace(ASKED, first=FIRST.replace(month=9))
    busy = [month.month.month for month in only(asked).lines[0].months if month.repaints]
    assert busy == [9]

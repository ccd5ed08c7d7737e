"""The years ahead of one property, of some, of all: the example of `made`, and what must hold."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from properties.models import Member, Property
from repairs.ahead.outlook import Asked, Band, ground_of, jobs_of, outlooks
from repairs.models import DueDate, Repair
from tests import factories as make
from tests.repairs.ahead.made import ASKED, FIRST, Example, done, example, rate, set_rules

pytestmark = pytest.mark.django_db


def only(asked: Asked = ASKED):
    (found,) = outlooks(Property.objects.all(), asked)
    return found


def test_the_example_by_year_worked_by_hand():
    example()
    found = only()
    rows = [
        (line.year, line.looks, line.repaints, line.repairs, line.access_visits)
        for line in found.lines
    ]
    assert rows == [
        (2027, 2, 1, 0, 1), (2028, 1, 1, 1, 1), (2029, 1, 1, 0, 1), (2030, 1, 1, 0, 1),
        (2031, 1, 1, 0, 1),
    ]  # fmt: skip
    assert [line.today for line in found.lines] == [
        Band(84_000, 95_500, 117_000), Band(112_500, 124_000, 145_500),
        *[Band(82_500, 94_000, 115_500)] * 3,
    ]  # fmt: skip
    assert found.today == Band(444_000, 501_500, 609_000)
    assert (found.nominal, found.unpriced, found.moves) == (None, (), ())


def test_the_example_in_the_money_of_each_year():
    """Dearer by 10 % a year: 955.00, 1,240.00 × 1.1, 940.00 × 1.21, × 1.331, × 1.4641."""
    example()
    found = only(replace(ASKED, price_rise_pct=Decimal(10)))
    likely = [line.nominal.likely for line in found.lines]
    assert likely == [95_500, 136_400, 113_740, 125_114, 137_625]
    assert found.nominal.likely == sum(likely)


def test_the_example_level_and_reserve():
    """955.00 and 1,240.00 in the first two years: 1,097.50 a year. At the high prices 1,170.00
    and 1,455.00: 1,312.50."""
    example()
    level = only().level
    assert level.budget == Band(88_800, 100_300, 121_800)
    assert (level.peak_year, level.peak.likely) == (2028, 124_000)
    assert (level.reserve, level.reserve_high) == (109_750, 131_250)
    assert level.balances[:3] == ((2027, 14_250), (2028, 0), (2029, 15_750))


def test_months_are_those_of_the_dates_and_add_up_to_their_year():
    example()
    first, second = only().lines[:2]
    work = [(month.month.month, month.looks, month.repaints) for month in first.months]
    assert [each for each in work if any(each[1:])] == [(1, 1, 0), (5, 0, 1), (11, 1, 0)]
    # The scaffold stands from the first of the year's work on: in March, with S-2.
    assert [month.today.likely for month in second.months if month.today] == [92_500, 30_000, 1500]
    for line in (first, second):
        assert sum(month.today.likely for month in line.months) == line.today.likely


def test_the_jobs_of_a_year_say_what_why_and_at_what_price():
    place = example()
    jobs = jobs_of(ground_of(place.property, ASKED), 2028)
    told = [(job.kind, job.mark, job.on, job.today.likely) for job in jobs]
    assert told == [
        ("access", "", date(2028, 3, 1), 80_000), ("repaint", "S-2", date(2028, 3, 1), 12_500),
        ("repair", "S-3", date(2028, 6, 1), 30_000), ("look", "S-3", date(2028, 11, 1), 1500),
    ]  # fmt: skip
    access, repaint, repair, look = jobs
    assert access.money_from == "GBP 800.00 for each elevation, each time: Quotation of 4 May 2026"
    assert repaint.money_from == (
        "the middle of 2 repaints of this building, 2025 to 2026, in money of 2026"
    )
    assert repaint.why == "Repaint: due on 1 March 2028"
    assert repair.why == "Decay found on 1 June 2026, UC2 (short term)"
    assert repair.url == f"/defects/{place.three.defects.get().pk}/"
    assert look.place.endswith("South elevation")


def test_the_jobs_of_every_year_add_up_to_its_line():
    place = example()
    for line in only().lines:
        jobs = jobs_of(ground_of(place.property, ASKED), line.year)
        assert sum((job.today for job in jobs), Band()) == line.today


def test_a_year_that_was_not_asked_for_is_refused():
    with pytest.raises(ValueError, match="2027 to 2031"):
        jobs_of(ground_of(make.PropertyFactory(), ASKED), 2032)


@pytest.mark.parametrize("years", [0, 31])
def test_one_to_thirty_years_can_be_asked_for(years):
    with pytest.raises(ValueError, match="1 to 30 years"):
        Asked(FIRST, years=years)


def test_without_any_work_every_year_is_empty():
    make.PropertyFactory()
    found = only(Asked(date(2028, 2, 29), years=30))
    assert len(found.lines) == 30
    assert found.today == Band()
    assert found.level.reserve == 0


def test_without_any_property_there_is_no_outlook():
    assert outlooks(Property.objects.none(), ASKED) == []


def test_the_first_year_counts_from_its_day_on():
    """Asked in July 2027, May's repaint is overdue and the first look of January is too."""
    example()
    line = only(Asked(date(2027, 7, 20), years=1)).lines[0]
    busy = {month.month.month: (month.looks, month.repaints) for month in line.months}
    assert busy[7] == (1, 1)
    assert {month for month, work in busy.items() if any(work)} == {7, 11}


def test_a_first_year_that_is_not_whole_is_said_to_count_as_one():
    example()
    for first, said in ((date(2027, 7, 20), True), (FIRST, False)):
        notes = " ".join(only(Asked(first, years=4)).notes)
        assert ("count it as a year like the others" in notes) == said


def another_of(place: Example, currency: str = "GBP") -> Member:
    """A member of another property with the same repaint as S-1."""
    property = make.PropertyFactory(currency=currency)
    member = make.MemberFactory(building__property=property, elevation__access="ground")
    due = DueDate.objects.get(member=place.one)
    make.DueDateFactory(
        member=member, kind="repaint", due_on=due.due_on, counted_from=due.counted_from,
        rule=due.rule,
    )  # fmt: skip
    rate(property, "repaint", "member", 9_900)
    return member


def test_unlike_currencies_are_never_added_up():
    another_of(example(), "USD")
    pounds, dollars = outlooks(Property.objects.all(), replace(ASKED, reserve_minor=500))
    assert (pounds.currency, dollars.currency) == ("GBP", "USD")
    assert pounds.today.likely == 501_500
    assert dollars.today == Band(29_700, 29_700, 29_700)
    assert any("in more than one currency" in note for note in pounds.notes)


def test_what_was_sold_by_then_is_left_out():
    member = another_of(example())
    Property.objects.filter(pk=member.building.property_id).update(
        given_up_on=FIRST, given_up_reason="Sold"
    )
    assert only().today.likely == 501_500


def test_a_member_taken_out_and_a_building_pulled_down_are_left_out():
    place = example()
    Member.objects.filter(pk=place.three.pk).update(removed_on=FIRST, removed_reason="Replaced")
    found = only()
    assert (sum(line.looks for line in found.lines), found.lines[1].repairs) == (0, 0)
    place.elevation.building.demolished_on = FIRST
    place.elevation.building.save()
    assert only().today == Band()


def failing_record(place: Example) -> None:
    """Twelve lasting repairs, done from 2009 to 2020 in May: three of them failed after 4 years,
    the others sound to date. Each price is 300.00: S-1 and S-3 are 1.5 m long."""
    for number in range(12):
        year = 2009 + number
        failed: dict[str, Any] = {}
        if number < 3:
            failed = {"state": "failed", "failed_on": date(year + 4, 5, 4)}
        done(place.one if number % 2 else place.three, "resin", year, **failed)


def test_repairs_in_place_are_expected_to_fail_as_the_record_says():
    """One more was done in May 2024. It is 2.7 years old on the first day, and all of its like
    were still sound then. After 4 years, in May 2028, 3 of 12 had failed: of the 13 known, 12 were
    under watch so long. So 3 in 12, a quarter of a repair, is expected in 2028 and none before;
    nothing after either, where nobody has seen one fail."""
    place = example()
    failing_record(place)
    done(place.two, "resin", 2024)
    lines = only().lines
    assert [line.repairs for line in lines] == [0, Decimal("1.25"), 0, 0, 0]
    # A quarter of 300.00 for each figure of the price; the scaffold stands in 2028 anyway.
    assert lines[1].today == Band(112_500 + 7500, 124_000 + 7500, 145_500 + 7500)
    assert lines[1].access_visits == 1


def test_an_expected_failure_brings_its_share_of_a_visit():
    """Without other work in 2028 its quarter is all that needs the scaffold."""
    place = example()
    failing_record(place)
    done(place.two, "resin", 2024)
    DueDate.objects.filter(kind="repaint").update(cancelled_on=FIRST, cancelled_reason="Clad")
    place.three.defects.all().delete()
    line = only().lines[1]
    assert (line.repairs, line.access_visits) == (Decimal("0.25"), Decimal("0.25"))
    # One look, and a quarter of 300.00 and of 800.00.
    assert line.today.likely == 1500 + 7500 + 20_000
    # Spread over the twelve months, to the millionth.
    months = [month.repairs for month in line.months]
    assert months == [Decimal(f"0.02083{digit}") for digit in "334334334334"]
    jobs = jobs_of(ground_of(place.property, ASKED), 2028)
    assert sum((job.today for job in jobs), Band()) == line.today


def test_a_record_too_short_expects_nothing_and_says_so():
    place = example()
    done(place.two, "resin", 2024)
    found = only()
    assert found.lines[1].repairs == 1
    assert any("too few have failed" in note for note in found.notes)


def test_the_record_of_other_properties_tells_too_where_it_is_given():
    place = example()
    other = example()
    failing_record(other)
    done(place.two, "resin", 2024)
    one = Property.objects.filter(pk=place.property.pk)
    (alone,) = outlooks(one, ASKED)
    (beside,) = outlooks(one, ASKED, record=Repair.objects.all())
    assert (alone.lines[1].repairs, beside.lines[1].repairs) == (1, Decimal("1.25"))


def test_a_portfolio_is_the_sum_of_its_properties():
    place = example()
    failing_record(place)
    for kind, year in (("resin", 2024), ("splice", 2023), ("replacement", 2022)):
        done(place.two, kind, year)
    another_of(place)
    done(another_of(place), "resin", 2023, 2)
    whole = only()
    parts = [
        outlooks(Property.objects.filter(pk=each.pk), ASKED, record=Repair.objects.all())[0]
        for each in Property.objects.all()
    ]
    for at, line in enumerate(whole.lines):
        own = [part.lines[at] for part in parts]
        assert line.today == sum((each.today for each in own), Band())
        assert line.repairs == sum(each.repairs for each in own)
        assert line.access_visits == sum(each.access_visits for each in own)
        for month in range(12):
            likely = [each.months[month].today.likely for each in own]
            assert line.months[month].today.likely == sum(likely)


def test_an_open_defect_that_is_planned_counts_once_on_the_plan_s_day():
    place = example()
    make.PlanFactory(
        defect=place.three.defects.get(), starts_at=make.MORNING.replace(year=2029), kind="splice"
    )
    repairs = [line.repairs for line in only().lines]
    assert repairs == [0, 0, 1, 0, 0]


def test_defects_that_are_not_counted_are_told():
    place = example()
    make.DefectFactory(member=place.one, urgency="UC0")
    make.DefectFactory(member=place.one, urgency="")
    make.DefectFactory(member=place.one, urgency="UC3", state="watched")
    found = only()
    assert sum(line.repairs for line in found.lines) == 1
    told = "Open defects not counted: 1 of class UC0, long term, 1 without an urgency class, 1 that"
    assert any(note.startswith(told) for note in found.notes)


def test_a_urgent_defect_counts_now_and_a_late_one_too():
    place = example()
    make.DefectFactory(member=place.one, urgency="UC3", found_on=date(2026, 12, 1))
    make.DefectFactory(member=place.one, urgency="UC1", found_on=date(2021, 12, 1))
    make.DefectFactory(member=place.one, urgency="UC1", found_on=date(2026, 12, 1))
    assert [line.repairs for line in only().lines] == [2, 1, 0, 1, 0]


def test_members_without_a_date_are_told():
    set_rules()
    make.MemberFactory()
    assert any("1 member in place has no date" in note for note in only().notes)

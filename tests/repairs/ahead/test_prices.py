"""Prices: the building's own past, else a rate that was typed, else none and what to type."""

from datetime import date
from decimal import Decimal

import pytest

from properties.models import Elevation, Property
from repairs.access import cost_lines_for
from repairs.ahead.outlook import Band, ground_of, jobs_of, outlooks
from repairs.models import CostLine, PriceIndexYear, WorkRate
from tests import factories as make
from tests.repairs.ahead.made import ASKED, done, example, paid, rate

pytestmark = pytest.mark.django_db


def price_of(place, kind: str, year: int = 2028):
    (job,) = [job for job in jobs_of(ground_of(place.property, ASKED), year) if job.kind == kind]
    return job


def test_what_was_taken_back_tells_no_price():
    place = example()
    line = CostLine.objects.get(amount_minor=14_000)
    paid_back = done(place.one, "repaint", 2026)
    CostLine.objects.create(
        building=line.building, member=line.member, repair=line.repair, kind=line.kind,
        amount_minor=-14_000, home_minor=-14_000, currency="GBP", worked_on=date(2026, 6, 1),
        reverses=line,
    )  # fmt: skip
    paid(paid_back, 13_000)
    assert price_of(place, "repaint").today == Band(11_000, 12_000, 13_000)


def test_access_and_withdrawn_repairs_are_left_out():
    place = example()
    repair = CostLine.objects.get(amount_minor=14_000).repair
    paid(repair, 90_000, kind="access")
    paid(done(place.one, "repaint", 2026, state="withdrawn"), 99_000)
    assert price_of(place, "repaint").today == Band(11_000, 12_500, 14_000)


def test_access_that_was_paid_before_goes_before_the_rate():
    """One scaffold shared by two members in 2025, 500.00 and 100.00: 600.00, 660.00 in money of
    2026. Another in 2026 for 700.00: the middle is 680.00."""
    place = example()
    shared = make.SharedCostFactory(total_minor=60_000)
    for member, minor in ((place.one, 50_000), (place.two, 10_000)):
        make.CostLineFactory(
            building=member.building, member=member, kind="access", amount_minor=minor,
            shared=shared, worked_on=date(2025, 5, 4),
        )  # fmt: skip
    make.CostLineFactory(
        building=place.one.building, elevation=place.elevation, kind="access", amount_minor=70_000
    )
    access = price_of(place, "access")
    assert access.today == Band(66_000, 68_000, 70_000)
    assert access.money_from == "the middle of 2 accesses here, 2025 to 2026, in money of 2026"


def test_a_scaffold_that_was_billed_by_the_month_is_one_access():
    """300.00, 200.00 and 100.00 for one repaint, the last on the day of a line without a repair,
    50.00: 650.00 in all. Another repaint's scaffold cost 700.00: the middle is 675.00."""
    place = example()
    one, other = (done(place.one, "repaint", 2026, month) for month in (3, 9))
    for repair, month, minor in (
        (one, 3, 30_000), (one, 4, 20_000), (one, 5, 10_000), (None, 5, 5_000), (other, 9, 70_000),
    ):  # fmt: skip
        make.CostLineFactory(
            building=place.one.building, member=place.one, repair=repair, kind="access",
            amount_minor=minor, worked_on=date(2026, month, 28),
        )  # fmt: skip
    access = price_of(place, "access")
    assert access.today == Band(65_000, 67_500, 70_000)
    assert access.money_from == "the middle of 2 accesses here, 2026, in money of 2026"


def test_without_an_index_the_past_stays_as_it_was_paid_and_says_so():
    place = example()
    PriceIndexYear.objects.all().delete()
    repaint = price_of(place, "repaint")
    assert repaint.today == Band(10_000, 12_000, 14_000)
    assert repaint.money_from == "the middle of 2 repaints of this building, 2025 to 2026, as paid"
    (found,) = outlooks(Property.objects.all(), ASKED)
    assert "No price index is kept for GBP" in " ".join(found.notes)


def test_the_kind_that_is_planned_is_priced_by_its_own_past():
    place = example()
    paid(done(place.one, "splice", 2026), 40_000)
    paid(done(place.one, "resin", 2026), 20_000)
    # Not known yet which: both tell, 200.00 to 400.00.
    assert price_of(place, "repair").today == Band(20_000, 30_000, 40_000)
    make.PlanFactory(
        defect=place.three.defects.get(), kind="splice", starts_at=make.MORNING.replace(year=2028)
    )
    assert price_of(place, "repair").today == Band(40_000, 40_000, 40_000)


def test_a_rate_of_the_property_stands_in_where_the_building_has_no_past():
    place = example(past=False)
    rate(place.property, "repaint", "metre", 6_000, low_minor=5_000)
    assert price_of(place, "repaint").today == Band(7_500, 9_000, 9_000)


def test_by_the_square_metre():
    place = example()
    WorkRate.objects.filter(what="scaffold").update(
        per="area", likely_minor=1_250, low_minor=None, high_minor=None
    )
    Elevation.objects.update(area_m2=Decimal("40.50"))
    assert price_of(place, "access").today == Band(50_625, 50_625, 50_625)


def begins(place) -> dict[tuple[str, str], Decimal]:
    (found,) = outlooks(Property.objects.filter(pk=place.property.pk), ASKED)
    return {(each.kind, each.begin): each.number for each in found.unpriced}


def test_what_has_no_price_is_counted_and_says_what_to_type():
    place = example(past=False)
    WorkRate.objects.all().delete()
    assert begins(place) == {
        ("look", "Type a rate for a look."): 6,
        ("repaint", "Log a repaint of the building with its costs, or type a rate for a repaint."):
            5,
        ("repair", "Log a repair of the building with its costs, or type a rate for a repair."): 1,
        ("access", "Type a rate for access by scaffold."): 5,
    }  # fmt: skip
    (found,) = outlooks(Property.objects.all(), ASKED)
    assert [line.unpriced for line in found.lines] == [4, 4, 3, 3, 3]
    assert found.today == Band()
    look = price_of(place, "look")
    assert (look.today, look.money_from) == (None, "Type a rate for a look.")


def test_a_size_that_is_asked_and_not_recorded_leaves_the_job_without_a_price():
    place = example()
    place.three.length_mm = None
    place.three.save()
    WorkRate.objects.filter(what="scaffold").update(per="area")
    assert begins(place) == {
        ("repair", "The rate is by the metre: record the length of each member."): 1,
        ("access", "The rate is by the square metre: record the area of each elevation."): 5,
    }


@pytest.mark.parametrize(("access", "visits"), [("ground", 0), ("ladder", 0), ("unknown", 5)])
def test_access_without_a_price(access, visits):
    place = example()
    Elevation.objects.update(access=access)
    (found,) = outlooks(Property.objects.all(), ASKED)
    assert sum(line.access_visits for line in found.lines) == visits
    assert found.today.likely == 501_500 - 5 * 80_000
    told = begins(place)
    assert sum(number for (kind, _), number in told.items() if kind == "access") == visits


def test_a_ladder_counts_where_a_rate_gives_it_a_price():
    place = example()
    Elevation.objects.update(access="ladder")
    rate(place.property, "ladder", "elevation", 2_000)
    (found,) = outlooks(Property.objects.all(), ASKED)
    assert found.today.likely == 501_500 - 5 * 80_000 + 5 * 2_000


def test_a_member_on_no_elevation_counts_without_access():
    place = example()
    place.two.elevation = None
    place.two.save()
    (found,) = outlooks(Property.objects.all(), ASKED)
    assert [line.access_visits for line in found.lines] == [1, 1, 1, 0, 1]
    assert any("stand on no elevation" in note for note in found.notes)


def test_a_viewer_is_told_no_price_of_an_earlier_owner_s_time():
    place = example()
    make.OwnershipFactory(property=place.property, from_on=date(2010, 1, 1), to_on=date(2026, 1, 1))
    make.OwnershipFactory(property=place.property, from_on=date(2026, 1, 1))
    viewer, manager = make.make_viewer(place.property), make.make_manager()
    seen = {
        user: next(
            job.today
            for job in jobs_of(ground_of(place.property, ASKED, cost_lines_for(user)), 2027)
            if job.kind == "repaint"
        )
        for user in (viewer, manager)
    }
    assert seen[viewer] == Band(14_000, 14_000, 14_000)
    assert seen[manager] == Band(11_000, 12_500, 14_000)


def test_what_was_paid_after_the_first_day_is_not_known_yet():
    place = example()
    paid(done(place.one, "repaint", 2028), 99_000)
    assert price_of(place, "repaint").today == Band(11_000, 12_500, 14_000)

"""However many members, the years ahead are read in the same number of queries."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from properties.models import Property
from repairs.ahead.offers import offers
from repairs.ahead.outlook import ground_of, jobs_of, outlooks
from repairs.models import DueRule, Repair
from tests import factories as make
from tests.repairs.ahead.made import ASKED, done, example, rate

pytestmark = pytest.mark.django_db


def queries(act) -> int:
    with CaptureQueriesContext(connection) as captured:
        act()
    return len(captured)


def grow(property: Property) -> None:
    """More buildings, elevations, members, dates, defects, plans, repairs, costs and moves."""
    for number in range(3):
        elevation = make.ElevationFactory(building__property=property, access="tower")
        for at in range(3):
            member = make.MemberFactory(building=elevation.building, elevation=elevation)
            repair = done(member, ("resin", "splice", "repaint")[at], 2020 + number)
            make.CostLineFactory(building=elevation.building, member=member, repair=repair)
            make.DueDateFactory(
                member=member, kind="repaint", rule=DueRule.objects.get(code="every-two-years"),
                due_on=date(2027 + at, 5, 4),
            )  # fmt: skip
            make.PlanFactory(defect=make.DefectFactory(member=member))
            make.DefectFactory(member=member, urgency="UC1")
        make.WorkMoveFactory(elevation=elevation, first_year=2027, last_year=2028, to_year=2029)


def test_the_same_number_for_few_and_for_many():
    place = example()
    make.WorkMoveFactory(elevation=place.elevation, first_year=2027, last_year=2028, to_year=2029)
    make.PlanFactory(defect=place.three.defects.get())
    acts = (
        lambda: outlooks(Property.objects.all(), ASKED, record=Repair.objects.all()),
        lambda: jobs_of(ground_of(place.property, ASKED), 2029),
        lambda: offers(ground_of(place.property, ASKED)),
    )
    few = [queries(act) for act in acts]
    grow(place.property)
    other = make.PropertyFactory()
    rate(other, "repaint", "member", 9_000)
    grow(other)
    assert [queries(act) for act in acts] == few


def test_a_viewer_s_years_hold_only_what_stands_on_the_properties_given():
    place, other = example(), example()
    viewer = make.make_viewer(place.property)
    (found,) = outlooks(Property.objects.visible_to(viewer), ASKED)
    (whole,) = outlooks(Property.objects.all(), ASKED)
    assert found.title == place.property.name
    assert whole.title == "2 properties in GBP"
    assert whole.today.likely == 2 * found.today.likely
    assert other.property.name != place.property.name

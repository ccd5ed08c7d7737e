"""What the like has cost on this property before."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest

from properties.models import Member
from repairs.costs.ledger import reverse
from repairs.models import CostLine, Repair
from repairs.plans.own_prices import OwnPrices, last_prices
from tests import factories as make

pytestmark = pytest.mark.django_db

ON = date(2026, 5, 4)
ACCESS = CostLine.Kind.ACCESS


@pytest.fixture
def sill() -> Any:
    return make.MemberFactory()


def beside(member: Member, **changes: Any) -> Member:
    made: Member = make.MemberFactory(
        **{"building": member.building, "elevation": member.elevation, **changes}
    )
    return made


def cost(member: Member, minor: int, year: int = 2024, **changes: Any) -> CostLine:
    made: CostLine = make.CostLineFactory(
        building=member.building, member=member, amount_minor=minor,
        worked_on=date(year, 5, 4), **changes,
    )  # fmt: skip
    return made


def done(member: Member, kind: str, minor: int, access: int = 0, year: int = 2024,
         **changes: Any) -> Repair:  # fmt: skip
    when = datetime(year, 5, 4, 9, tzinfo=UTC)
    repair: Repair = make.RepairFactory(member=member, kind=kind, began_at=when, **changes)
    cost(member, minor, year, repair=repair)
    if access:
        cost(member, access, year, repair=repair, kind=ACCESS)
    return repair


def test_nothing_recorded_is_nothing_said(sill: Any) -> None:
    assert last_prices(sill, ON) == OwnPrices()


def test_the_last_of_this_member_comes_before_a_later_one_of_its_kind(sill: Any) -> None:
    done(sill, "repaint", 18000, year=2020)
    done(sill, "repaint", 20000, year=2022)
    done(beside(sill), "repaint", 90000, year=2025)
    found = last_prices(sill, ON).repaint
    assert found is not None
    assert (found.minor, found.paid_on) == (20000, date(2022, 5, 4))
    assert found.words == (
        "GBP 200.00, the last repaint of this member, 4 May 2022, as it was paid"
    )


def test_else_one_of_its_kind_on_the_property_serves(sill: Any) -> None:
    done(beside(sill), "replacement", 185000)
    done(beside(sill, kind="door"), "replacement", 999900, year=2025)
    done(make.MemberFactory(), "replacement", 999900, year=2025)
    found = last_prices(sill, ON).replacement
    assert found is not None
    assert (found.minor, found.what) == (185000, "the last replacement of a sill on this property")


def test_access_is_counted_apart_but_within_a_repaint(sill: Any) -> None:
    done(sill, "resin", 42000, access=30000)
    done(sill, "repaint", 18000, access=25000, year=2025)
    found = last_prices(sill, ON)
    assert found.repair
    assert found.repaint
    assert found.access
    assert (found.repair.minor, found.repaint.minor, found.access.minor) == (42000, 43000, 25000)


def test_access_to_the_elevation_serves_where_the_member_had_none(sill: Any) -> None:
    scaffold = make.SharedCostFactory()
    other = beside(sill)
    for minor in (20000, 10000):
        cost(other, minor, shared=scaffold, kind=ACCESS)
    cost(beside(sill, elevation=None), 99999, year=2025, kind=ACCESS)
    found = last_prices(sill, ON).access
    assert found is not None
    assert (found.minor, found.what) == (30000, "the last access on its elevation")


def test_what_was_taken_back_or_withdrawn_is_no_price(sill: Any) -> None:
    line = cost(sill, 30000, kind=ACCESS)
    reverse(line, None, date(2025, 1, 1), "typed twice")
    done(sill, "splice", 50000, state="withdrawn")
    done(sill, "replacement", 100, year=2027)
    assert last_prices(sill, ON) == OwnPrices()


def test_money_of_an_earlier_owner_is_not_told(sill: Any) -> None:
    done(sill, "repaint", 18000)
    place = sill.building.property
    make.OwnershipFactory(property=place, from_on=date(2000, 1, 1), to_on=date(2025, 1, 1))
    make.OwnershipFactory(property=place, from_on=date(2025, 1, 1), to_on=None)
    assert last_prices(sill, ON).repaint is None
    every = last_prices(sill, ON, CostLine.objects.all()).repaint
    assert every is not None


# In today's money


def kept_index(**years: str) -> None:
    for year, value in years.items():
        make.PriceIndexYearFactory(
            index=make.PriceIndexFactory(currency="GBP"), year=int(year[1:]), value=Decimal(value)
        )


def test_an_old_price_is_told_in_the_newest_money_of_the_index(sill: Any) -> None:
    kept_index(y2015="237.017", y2024="313.689", y2030="400")
    done(sill, "repaint", 100000, year=2015)
    found = last_prices(sill, ON).repaint
    assert found is not None
    assert (found.todays_minor, found.money_of, found.best_minor) == (132349, 2024, 132349)
    assert found.words == (
        "GBP 1,000.00, the last repaint of this member, 4 May 2015; GBP 1,323.49 in money of 2024"
    )


def test_a_year_that_the_index_lacks_leaves_the_price_as_paid(sill: Any) -> None:
    kept_index(y2024="313.689")
    done(sill, "repaint", 100000, year=2015)
    found = last_prices(sill, ON).repaint
    assert found is not None
    assert (found.todays_minor, found.best_minor) == (None, 100000)
    assert "no figure for 2015" in found.remark


def test_a_price_of_this_year_is_in_its_money_already(sill: Any) -> None:
    kept_index(y2024="313.689")
    done(sill, "repaint", 100000, year=2026)
    found = last_prices(sill, ON).repaint
    assert found is not None
    assert (found.todays_minor, found.money_of) == (100000, 2026)


def test_many_costs_are_read_in_three_queries(sill: Any, django_assert_num_queries: Any) -> None:
    for year in range(2000, 2026):
        done(sill, "repaint", 18000, access=100, year=year)
    with django_assert_num_queries(3):
        last_prices(sill, ON)

"""The account of what buildings have cost, against figures worked out by hand."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from properties.models import Property
from repairs.costs.account import building_account, portfolio_accounts, property_account
from repairs.costs.layout import tables_of
from repairs.costs.period import Period
from repairs.costs.recorded_life import RecordedLife, years_between
from repairs.models import CostLine
from tests.factories import (
    BuildingFactory,
    CostLineFactory,
    ElevationFactory,
    MemberFactory,
    PropertyFactory,
    RepairFactory,
)
from tests.repairs.cost_world import BARN, SHED, TODAY, index, make_world
from tests.repairs.test_cost_reports import lines, write

pytestmark = pytest.mark.django_db

LIFETIME = Period()


def labelled(shares) -> dict[str, int]:
    return {share.label: share.minor for share in shares}


def test_a_barn_is_divided_as_worked_out_by_hand() -> None:
    world = make_world()

    account = building_account(world.barn, LIFETIME, TODAY)

    assert account.report.total_minor == BARN
    assert labelled(account.report.by_year) == {"2023": 30000, "2024": 66000, "2025": 1000}
    divided = account.divisions
    assert labelled(divided.by_member_kind) == {
        "Post": 50000, "Sill": 35000, "Not tied to a member": 12000,
    }  # fmt: skip
    assert labelled(divided.by_repair_kind) == {
        "Timber splice": 50000, "Resin repair": 27000, "Not on a repair": 20000,
    }  # fmt: skip
    assert labelled(divided.by_bearer) == {"Insurer": 50000, "Owner": 47000}
    assert labelled(divided.by_class) == {"Capital": 50000, "Not said": 47000}


def test_tax_is_added_up_at_the_rate_of_its_line_and_the_lines_without_are_counted() -> None:
    """50.00, and 10.00 USD at 0.80: 58.00 on two lines; five say nothing."""
    tax = building_account(make_world().barn, LIFETIME, TODAY).divisions.tax

    assert (tax.minor, tax.lines, tax.without) == (5800, 2, 5)


def test_a_line_counts_on_its_own_elevation_else_on_that_of_its_member() -> None:
    """North 270 + 80, of which the line of 80 names no elevation; yard side 500; none 120."""
    account = building_account(make_world().barn, LIFETIME, TODAY)

    told = {each.share.label: (each.share.minor, each.a_metre_minor)
            for each in account.by_elevation}  # fmt: skip
    assert told == {
        "North": (35000, 1750),
        "Yard side": (50000, None),
        "On no elevation": (12000, None),
    }


def test_a_square_metre_of_the_whole_is_told_of_buildings_measured_all_round() -> None:
    """The shed: 40.00 on 20 m². The barn has a side without an area."""
    world = make_world()

    assert building_account(world.barn, LIFETIME, TODAY).measured.a_metre_minor is None
    for account in (
        property_account(world.property, LIFETIME, TODAY),
        *portfolio_accounts(Property.objects.all(), LIFETIME, TODAY),
    ):
        measured = account.measured
        assert (measured.count, measured.of, measured.a_metre_minor) == (1, 2, 200)


def test_the_dearest_members_come_with_their_repairs_and_none_that_brought_money_back() -> None:
    world = make_world()
    RepairFactory(member=world.sill, state="withdrawn")
    CostLineFactory(building=world.barn, member=MemberFactory(building=world.barn),
                    kind="credit", amount_minor=-100)  # fmt: skip

    dearest = building_account(world.barn, LIFETIME, TODAY).dearest

    assert [(each.share.label, each.share.minor, each.repairs) for each in dearest] == [
        ("Y-POST-01 · Post", 50000, 1),
        ("N-SILL-01 · Sill", 35000, 1),
    ]


def test_five_members_are_told_and_no_more() -> None:
    building = BuildingFactory()
    for minor in range(100, 800, 100):
        CostLineFactory(
            building=building, member=MemberFactory(building=building), amount_minor=minor
        )

    dearest = building_account(building, LIFETIME, TODAY).dearest

    assert [each.share.minor for each in dearest] == [700, 600, 500, 400, 300]


def test_a_year_of_the_recorded_life_runs_from_the_first_cost_to_today() -> None:
    """4,000.00 from 29 November 2022 to 28 November 2026: four years, 1,000.00 each."""
    building = BuildingFactory()
    CostLineFactory(building=building, amount_minor=300000, worked_on=date(2022, 11, 29))
    CostLineFactory(building=building, amount_minor=100000, worked_on=date(2024, 1, 1))

    account = building_account(building, LIFETIME, TODAY)

    assert account.life is not None
    assert account.life.years == 4
    assert account.life.a_year(account.report.total_minor) == 100000


def test_less_than_a_year_makes_no_average() -> None:
    building = CostLineFactory(worked_on=date(2026, 5, 4)).building

    account = building_account(building, LIFETIME, TODAY)

    assert account.life is not None
    assert account.life.a_year(account.report.total_minor) is None


@pytest.mark.parametrize("facts", [{"demolished_on": date(2024, 11, 28)}, {}])
def test_the_recorded_life_ends_with_the_building_or_the_care_of_it(facts) -> None:
    building = BuildingFactory(
        property=PropertyFactory(given_up_on=date(2024, 12, 31), given_up_reason="sold"), **facts
    )
    CostLineFactory(building=building, worked_on=date(2022, 11, 29))

    account = building_account(building, LIFETIME, TODAY)

    assert account.life is not None
    assert account.life.ends == facts.get("demolished_on", date(2024, 12, 31))


def test_a_year_to_31_march_holds_both_its_edges_and_is_one_year_long() -> None:
    """1 April 2024 to 31 March 2025: 500 + 120 of May and March… the fee of 1 March 2024 is of
    the year before. 500 + 70 − 70 + 80 = 580, the shed's line of 1 April 2025 not in it."""
    world = make_world()
    period = Period(date(2024, 4, 1), date(2025, 3, 31))

    account = property_account(world.property, period, TODAY)

    assert account.report.total_minor == 58000
    assert labelled(account.report.by_year) == {"2024": 57000, "2025": 1000}
    assert account.life is not None
    assert account.life.years == 1
    assert account.life.a_year(account.report.total_minor) == 58000


days = st.dates(date(1900, 1, 1), date(2100, 1, 1))


@given(first=days, years=st.integers(0, 120))
def test_whole_years_are_whole(first, years) -> None:
    last = first + relativedelta(years=years) - relativedelta(days=1)
    leap_day = (first.month, first.day) == (2, 29)

    assert years_between(first, last) == years or leap_day


@given(first=days, more=st.integers(0, 40000))
def test_years_of_a_life_are_those_of_dateutil_and_the_rest_a_share_of_a_year(first, more) -> None:
    """dateutil ends a year begun on 29 February on the 28th, so that day is left to the others."""
    assume((first.month, first.day) != (2, 29))
    last = first + timedelta(days=more)
    after = last + timedelta(days=1)
    whole = relativedelta(after, first).years
    begun, full = (first + relativedelta(years=years) for years in (whole, whole + 1))

    found = years_between(first, last)

    assert found == whole + Fraction((after - begun).days, (full - begun).days)
    assert RecordedLife(first, last).a_year(10_000_00) == (
        None if whole < 1 else pytest.approx(10_000_00 / float(found), abs=0.51)
    )


@given(first=days, spans=st.tuples(st.integers(0, 40000), st.integers(1, 400)))
def test_a_longer_life_has_more_years_and_never_far_from_its_days(first, spans) -> None:
    short, more = spans
    last = first + relativedelta(days=short)
    later = last + relativedelta(days=more)

    assert 0 < years_between(first, last) < years_between(first, later)
    assert abs(years_between(first, last) - Fraction((short + 1) * 100, 36525)) < Fraction(1, 60)


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(rows=lines)
def test_every_division_of_an_account_adds_up_to_the_total(rows, db) -> None:
    building = BuildingFactory()
    north = ElevationFactory(building=building, area_m2=Decimal(7))
    members = [MemberFactory(building=building, elevation=each, kind=kind)
               for each, kind in ((north, "sill"), (None, "post"))]  # fmt: skip
    whole = write(building, members, rows)
    of_all = Property.objects.filter(pk=building.property_id)

    for account in (
        building_account(building, LIFETIME, TODAY),
        property_account(building.property, LIFETIME, TODAY),
        *portfolio_accounts(of_all, LIFETIME, TODAY),
    ):
        divided = account.divisions
        divisions = [
            divided.by_member_kind, divided.by_repair_kind, divided.by_bearer, divided.by_class,
            [each.share for each in account.by_elevation],
        ]  # fmt: skip
        assert account.report.total_minor == whole
        for shares in divisions:
            assert not shares or sum(share.minor for share in shares) == whole
        assert divided.tax.lines + divided.tax.without == len(rows)


def test_the_tables_of_an_account_without_a_line_are_none() -> None:
    building = BuildingFactory()

    assert tables_of(building_account(building, LIFETIME, TODAY)) == []


def test_a_long_division_is_one_row_on_the_page_and_all_rows_in_the_workbook() -> None:
    building = BuildingFactory()
    for _ in range(45):
        CostLineFactory(building=building, member=MemberFactory(building=building))
    account = building_account(building, LIFETIME, TODAY)

    def members(in_full: bool) -> list[str]:
        (table,) = [t for t in tables_of(account, in_full) if t.slug == "member"]
        return [row.label for row in table.rows]

    assert members(in_full=False)[-2:] == ["5 others", "Total"]
    assert len(members(in_full=True)) == 46


def test_the_shed_and_the_barn_are_the_property() -> None:
    world = make_world()

    account = property_account(world.property, LIFETIME, TODAY)

    assert account.report.total_minor == BARN + SHED
    assert labelled(account.report.by_building) == {"Barn": BARN, "Shed": SHED}


def test_money_of_today_is_told_of_the_currency_of_the_property_alone() -> None:
    index("USD", y2023="100", y2026="200")
    account = building_account(make_world().barn, LIFETIME, TODAY)

    assert account.todays.money_of is None
    assert account.todays.total_minor is None
    assert CostLine.objects.filter(currency="USD").exists()

"""What buildings have cost: the parts add up to the whole, each line on its own day."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from properties.models import Defect, Property
from repairs.costs import ledger
from repairs.costs.reports import (
    Period,
    building_report,
    buildings_with_cost,
    portfolio_reports,
    property_report,
    shortened,
)
from repairs.models import CostLine
from tests.factories import (
    BuildingFactory,
    CostLineFactory,
    MemberFactory,
    PropertyFactory,
)

pytestmark = pytest.mark.django_db

LIFETIME = Period()

amounts = st.integers(-(10**9), 10**9).filter(bool)
days = st.dates(date(1990, 1, 1), date(2040, 12, 31))
lines = st.lists(
    st.tuples(
        amounts,
        days,
        st.one_of(st.none(), st.integers(0, 400)),
        st.sampled_from([kind for kind in CostLine.Kind.values if kind != "credit"]),
        st.sampled_from(Defect.Cause.values),
        st.sampled_from([None, 0, 1]),
    ),
    max_size=25,
)


def write(building, members, rows) -> int:
    CostLine.objects.bulk_create([line_of(building, members, row) for row in rows])
    return sum(row[0] for row in rows)


def line_of(building, members, row) -> CostLine:
    minor, worked_on, invoice_lag, kind, cause, member = row
    line = CostLine(
        building=building,
        amount_minor=minor,
        home_minor=minor,
        currency="GBP",
        kind=kind if minor > 0 else "credit",
        cause=cause,
        worked_on=worked_on,
        member=None if member is None else members[member],
        invoiced_on=None if invoice_lag is None else worked_on + timedelta(days=invoice_lag),
    )
    line.set_day()
    return line


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(rows=lines)
def test_every_division_of_a_buildings_cost_adds_up_to_the_total(rows, db) -> None:
    building = BuildingFactory()
    members = MemberFactory.create_batch(2, building=building)
    whole = write(building, members, rows)

    reports = [
        building_report(building, LIFETIME),
        property_report(building.property, LIFETIME),
        *portfolio_reports(Property.objects.filter(pk=building.property.pk), LIFETIME),
    ]

    for report in reports:
        assert report.total_minor == whole
        for _name, shares in report.sections:
            assert sum(share.minor for share in shares) == whole
            assert sum(share.minor for share in shortened(shares, most=3)) == whole


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(rows=lines, cut=days)
def test_two_periods_that_meet_add_up_to_the_lifetime(rows, cut, db) -> None:
    building = BuildingFactory()
    members = MemberFactory.create_batch(2, building=building)
    whole = write(building, members, rows)

    before = building_report(building, Period(None, cut)).total_minor
    after = building_report(building, Period(cut + timedelta(days=1), None)).total_minor

    assert before + after == whole


def test_an_invoice_counts_on_its_own_day_and_not_on_the_day_of_the_work() -> None:
    building = BuildingFactory()
    CostLineFactory(building=building, worked_on=date(2024, 12, 20), invoiced_on=date(2025, 2, 3))

    report = building_report(building, LIFETIME)

    assert [(share.label, share.minor) for share in report.by_year] == [("2025", 10000)]


def test_a_credit_of_the_next_year_leaves_the_year_of_the_cost_alone() -> None:
    """Scenario 12: scaffold 1,200, credit 300 the year after, net 900."""
    building = BuildingFactory()
    CostLineFactory(
        building=building, kind="access", amount_minor=120000, worked_on=date(2024, 6, 1)
    )
    CostLineFactory(
        building=building, kind="credit", amount_minor=-30000, worked_on=date(2025, 1, 9)
    )

    report = building_report(building, LIFETIME)

    assert report.total_minor == 90000
    assert [(s.label, s.minor) for s in report.by_year] == [("2024", 120000), ("2025", -30000)]


def test_a_reversed_line_counts_for_nothing_over_the_lifetime(django_user_model) -> None:
    line = CostLineFactory()
    ledger.reverse(line, None, date(2026, 7, 1), "entered twice")

    assert building_report(line.building, LIFETIME).total_minor == 0


def test_a_foreign_line_counts_at_the_rate_of_its_own_day() -> None:
    """Scenario 13: a USD kit on a EUR building; a later line at another rate changes nothing."""
    building = BuildingFactory(property=PropertyFactory(currency="EUR"))
    for rate in ("0.92", "0.80"):
        ledger.post(
            CostLine(
                building=building,
                kind="material",
                amount_minor=10000,
                currency="USD",
                worked_on=date(2026, 5, 4),
            ),
            None,
            Decimal(rate),
        )

    assert building_report(building, LIFETIME).total_minor == 9200 + 8000


def test_a_foreign_line_without_a_rate_is_refused() -> None:
    building = BuildingFactory(property=PropertyFactory(currency="EUR"))
    line = CostLine(
        building=building,
        kind="material",
        amount_minor=10000,
        currency="USD",
        worked_on=date(2026, 5, 4),
    )

    with pytest.raises(ledger.RateMissing, match="what 1 USD was worth in EUR"):
        ledger.post(line, None)


def test_a_portfolio_in_two_currencies_has_a_report_for_each_and_no_single_total() -> None:
    for currency, minor in (("GBP", 100), ("EUR", 900)):
        building = BuildingFactory(property=PropertyFactory(currency=currency))
        CostLineFactory(building=building, amount_minor=minor, currency=currency)

    reports = portfolio_reports(Property.objects.all(), LIFETIME)

    assert [(r.currency, r.total_minor) for r in reports] == [("EUR", 900), ("GBP", 100)]


def test_buildings_can_be_sorted_by_what_they_cost_and_one_without_costs_has_zero() -> None:
    dear = CostLineFactory(amount_minor=500).building
    bare = BuildingFactory()

    found: Any = buildings_with_cost(type(dear).objects.all(), LIFETIME)

    assert [(b.pk, b.cost_minor, b.line_count) for b in found.order_by("-cost_minor")] == [
        (dear.pk, 500, 1),
        (bare.pk, 0, 0),
    ]

"""What was paid, in today's money, on the page and in the account."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from repairs.costs.account import building_account
from repairs.costs.period import Period
from tests.factories import BuildingFactory, CostLineFactory, PropertyFactory, make_manager
from tests.published import published
from tests.repairs.cost_world import TODAY, index

pytestmark = pytest.mark.django_db

CPI_U = {row["inputs"]: row["value"] for row in published("price_index", "CPI-U")}
PAIRS = published("price_index", "CPI adjustment")


def paid(year: int, minor: int, building=None):
    """A line of 1 July on a building that adds up in USD."""
    building = building or BuildingFactory(property=PropertyFactory(currency="USD"))
    CostLineFactory(
        building=building, currency="USD", amount_minor=minor, worked_on=date(year, 7, 1)
    )
    return building


@pytest.fixture
def manager(client):
    client.force_login(make_manager())
    return client


@pytest.mark.parametrize("row", PAIRS, ids=lambda row: row["inputs"])
def test_the_page_tells_old_dollars_in_new_ones_as_worked_out_from_the_series(manager, row) -> None:
    """1000 USD of 2015 in 2024 money: 1323.49, and two more, by the annual means of CPI-U."""
    amount, then, now = re.fullmatch(r"(\d+) USD of (\d+) in (\d+) money", row["inputs"]).groups()  # type: ignore[union-attr]
    building = paid(int(then), int(amount) * 100)
    index("USD", **{f"y{year}": CPI_U[year] for year in (then, now)})

    page = manager.get(reverse("cost-building", args=[building.pk])).content.decode()

    value = f"{Decimal(row['value']):,}"
    assert f"That is USD {value} in money of {now}." in page
    assert f"<summary>{value}</summary>" in page
    for words in (f"Index of {then}", CPI_U[then].rstrip("0"), "amount · index(now) / index(then)"):
        assert words in page


def test_years_are_rounded_once_each_and_add_up(manager) -> None:
    """33.33 of 2020 and of 2021 at 100, 103 and 109: 36.33 (36.3297) and 35.27 (35.2715…)."""
    building = paid(2020, 3333)
    paid(2021, 3333, building)
    index("USD", y2020="100", y2021="103", y2022="109")

    todays = building_account(building, Period(), TODAY).todays

    assert [each.minor for each in todays.years] == [3633, 3527]
    assert todays.covered_minor == todays.total_minor == 7160


def test_a_year_without_a_figure_leaves_a_sum_of_the_others_said_in_words(manager) -> None:
    building = paid(2015, 100000)
    for year in (2019, 2026):
        paid(year, 50000, building)
    index("USD", y2015="100", y2024="150")

    account = building_account(building, Period(), TODAY)
    page = manager.get(reverse("cost-building", args=[building.pk])).content.decode()

    assert account.todays.total_minor is None
    assert account.todays.covered_minor == 150000
    assert account.todays.missing == (2019, 2026)
    assert (
        "Without 2019 and 2026, for which the price index has no figure, it is USD 1,500.00 in "
        "money of 2024." in page
    )
    assert "no figures for 2019 and 2026: what was paid then is left out" in page
    assert page.count("no figure<") == 2
    assert "Left out: 2019 and 2026" in page


def test_no_index_is_said_and_shows_no_column_of_todays_money(manager) -> None:
    building = paid(2015, 100000)

    page = manager.get(reverse("cost-building", args=[building.pk])).content.decode()

    assert "No price index is kept for USD, so nothing is told in today’s money." in page
    assert "In money of" not in page


def test_an_index_that_covers_no_year_paid_shows_none_of_its_money(manager) -> None:
    building = paid(2015, 100000)
    index("USD", y2001="100", y2002="103")

    page = manager.get(reverse("cost-building", args=[building.pk])).content.decode()

    assert "In money of" not in page
    assert "no figure for 2015" in page


def test_a_credit_comes_back_in_the_money_of_its_own_year() -> None:
    """1,200.00 of 2024 and 300.00 back in 2025, at 100, 110 and 121: 1,452.00 − 330.00."""
    building = BuildingFactory()
    CostLineFactory(building=building, amount_minor=120000, worked_on=date(2024, 6, 1))
    CostLineFactory(
        building=building, kind="credit", amount_minor=-30000, worked_on=date(2025, 1, 9)
    )
    index(y2024="100", y2025="110", y2026="121")

    todays = building_account(building, Period(), TODAY).todays

    assert [each.minor for each in todays.years] == [145200, -33000]
    assert todays.total_minor == 112200


def test_averages_in_todays_money_are_told_only_of_a_whole(manager) -> None:
    """4,000.00 over exactly four years at a price level that doubled: 1,000.00 and 2,000.00."""
    building = BuildingFactory()
    CostLineFactory(building=building, amount_minor=400000, worked_on=date(2022, 1, 1))
    index(y2022="100", y2026="200")
    address = reverse("cost-building", args=[building.pk])
    asked = {"first": "2022-01-01", "last": "2025-12-31"}

    whole = manager.get(address, asked).content.decode()
    CostLineFactory(building=building, amount_minor=100, worked_on=date(2023, 1, 1))
    part = manager.get(address, asked).content.decode()

    assert "<summary>1,000.00</summary>" in whole
    assert "<summary>2,000.00</summary>" in whole
    assert "<summary>2,000.00</summary>" not in part
    assert "not known" in part

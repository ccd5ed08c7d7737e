"""The price indexes on their pages: written by hand, loaded from a file, and read as a table."""

from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from repairs.costs.prices import index_of
from repairs.models import PriceIndex, PriceIndexYear
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make.make_manager())
    return client


@pytest.fixture
def index() -> Any:
    return make.PriceIndexFactory()


def load(client: Client, index: PriceIndex, data: bytes) -> Any:
    sent = {"file": SimpleUploadedFile("years.csv", data)}
    return client.post(reverse("price-index-load", args=[index.pk]), sent, follow=True)


def figures(index: PriceIndex) -> dict[int, str]:
    return {year: f"{value:f}" for year, value in index_of(index.currency).items()}


def test_the_costs_screen_leads_a_manager_to_the_indexes(manager: Client) -> None:
    assert reverse("price-index-list") in manager.get(reverse("cost-list")).content.decode()


@pytest.mark.parametrize("who", [make.make_crew, make.make_viewer])
def test_only_managers_keep_price_indexes(client: Client, index: Any, who: Any) -> None:
    client.force_login(who())
    assert client.get(reverse("price-index-list")).status_code == 403
    assert load(client, index, b"2015,100").status_code == 403
    assert reverse("price-index-list") not in client.get(reverse("cost-list")).content.decode()


def test_an_empty_list_says_how_to_begin_and_which_currency_has_none(manager: Client) -> None:
    make.PropertyFactory(currency="EUR")
    page = manager.get(reverse("price-index-list")).content.decode()
    assert "No price index is kept yet" in page
    assert "Without one: EUR" in page


def test_an_index_is_begun_in_small_letters_too(manager: Client) -> None:
    sent = {"currency": "usd", "name": "CPI-U", "source": "BLS series CUUR0000SA0"}
    manager.post(reverse("price-index-new"), sent)
    assert PriceIndex.objects.get().currency == "USD"


@pytest.mark.parametrize(
    ("field", "value"),
    [("currency", "XXQ"), ("currency", "GB"), ("currency", "GBP"), ("name", ""), ("source", "")],
)
def test_an_index_that_makes_no_sense_is_refused(
    manager: Client, index: Any, field: str, value: str
) -> None:
    sent = {"currency": "USD", "name": "CPI-U", "source": "BLS", field: value}
    page = manager.post(reverse("price-index-new"), sent)
    assert field in page.context["form"].errors
    assert PriceIndex.objects.count() == 1


def test_name_and_source_are_changed_and_the_change_is_kept(manager: Client, index: Any) -> None:
    sent = {"currency": "GBP", "name": "CPIH", "source": "ONS series L522"}
    manager.post(reverse("price-index-edit", args=[index.pk]), sent)
    index.refresh_from_db()
    assert (index.name, index.history.count()) == ("CPIH", 2)


@pytest.mark.parametrize("typed", ["237.017", "237,017"])
def test_a_year_is_written_by_hand(manager: Client, index: Any, typed: str) -> None:
    manager.post(index.get_absolute_url(), {"year": "2015", "value": typed})
    assert figures(index) == {2015: "237.0170"}


def test_a_year_written_again_is_put_right_and_both_are_kept(manager: Client, index: Any) -> None:
    for value in ("237", "237.017"):
        manager.post(index.get_absolute_url(), {"year": "2015", "value": value})
    assert index.years.get().value == Decimal("237.017")
    assert [kept.value for kept in index.years.get().history.all()][-1] == 237


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("year", "1799"), ("year", "2201"), ("year", "soon"), ("year", ""), ("value", "0"),
        ("value", "-3"), ("value", "1,234.5"), ("value", "1e3"), ("value", "9" * 30),
        ("value", "nan"), ("value", ""), ("value", "0.00001"), ("value", "100000000"),
    ],
)  # fmt: skip
def test_a_year_that_makes_no_sense_is_refused(
    manager: Client, index: Any, field: str, value: str
) -> None:
    page = manager.post(index.get_absolute_url(), {"year": "2015", "value": "100", field: value})
    assert field in page.context["form"].errors
    assert not index.years.exists()


def test_the_table_tells_the_rise_and_the_worth_of_a_hundred(manager: Client, index: Any) -> None:
    load(manager, index, b"2015,237.017\n2016,240.007\n2018,251.107\n2024,313.689")
    page = manager.get(index.get_absolute_url()).content.decode()
    assert "4 years, from 2015 to 2024" in page
    assert "+1.3" in page  # 240.007 / 237.017 - 1 = 1.26 %
    assert "132.35" in page  # 313.689 / 237.017: 1000 of 2015 are 1323.49 of 2024
    assert "No figure for 2017, 2019 to 2023: money" in page


def test_a_year_of_the_table_is_put_right_in_the_form_above(manager: Client, index: Any) -> None:
    load(manager, index, b"2015,237.017")
    page = manager.get(index.get_absolute_url() + "?year=2015").content.decode()
    assert "Put 2015 right" in page
    assert 'value="237.017"' in page
    assert manager.get(index.get_absolute_url() + "?year=%00").status_code == 200


@pytest.mark.parametrize("year", ["2015", "1999", "x", "9" * 40])
def test_a_year_is_taken_out_and_its_past_is_kept(manager: Client, index: Any, year: str) -> None:
    load(manager, index, b"2015,237.017\n2016,240.007")
    manager.post(index.get_absolute_url(), {"take-out": year})
    assert (2015 in figures(index)) is (year != "2015")
    assert PriceIndexYear.history.filter(history_type="-").count() == (year == "2015")


# A file


@pytest.mark.parametrize(
    "data",
    [
        b"2015,237.017\n2016,240.007",
        b"year,value\r\n2015,237.017\r\n2016,240.007\r\n",
        b"\xef\xbb\xbfYear;Index\n2015;237,017\n2016;240,007\n",
        b"\xef\xbb\xbf2015,237.017\n2016,240.007\n",
        "jaar;prijzen\n2015;237,017\n\n2016;240,007;;".encode("utf-16"),
        b"ann\xe9e\t1982=100\n2015\t237,017\n2016\t240.007",
        b'"2015","237,017"\n"2016"," 240.007 "',
        b"2015,237.0170000001\n2016,240.007\n2015,237.017",
    ],
    ids=["bare", "heads", "semicolons", "mark", "utf-16", "tabs", "quotes", "repeated"],
)
def test_a_file_is_read_as_spreadsheets_write_it(manager: Client, index: Any, data: bytes) -> None:
    page = load(manager, index, data)
    assert "2 added" in page.content.decode()
    assert figures(index) == {2015: "237.0170", 2016: "240.0070"}


def test_one_wrong_line_and_nothing_is_taken(manager: Client, index: Any) -> None:
    page = load(manager, index, b"2015,237.017\n20x5,1\n2016,\n2017,-1\n2018,0\n2015,9\n1700,5")
    errors = page.context["form"].errors["file"]
    assert [error.split(":")[0] for error in errors] == [f"Line {n}" for n in range(2, 8)]
    assert "already stands in line 1" in errors[4]
    assert not index.years.exists()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"\n\n", "holds no year"),
        (b"PK\x03\x04 a workbook", "workbook"),
        (b"\x89PNG\r\n\0\0", "not a text file"),
        (b"2015,237,017", "semicolon"),
        (b"2015-01-01,237.017", "four digits"),
        (b"2015,1.234,5", "a year and a figure"),
        (b'2015,"1.234,5"', "not a figure"),
        (b"2015,1\n" * 1001, "1,000 lines"),
        (b"2015," + b"1" * 200_000, "too large"),
        (b'2015,"' + b"1" * 150_000, "cannot be read"),
    ],
)
def test_a_file_that_is_none_is_refused_in_a_sentence(
    manager: Client, index: Any, data: bytes, said: str
) -> None:
    errors = " ".join(load(manager, index, data).context["form"].errors["file"])
    assert said in errors
    assert not index.years.exists()


def test_a_file_of_errors_is_not_told_to_the_last_line(manager: Client, index: Any) -> None:
    errors = load(manager, index, b"bad 1,x\n" * 300).context["form"].errors["file"]
    assert len(errors) == 21
    assert errors[-1] == "280 more lines are wrong."


def test_the_same_file_twice_changes_nothing(manager: Client, index: Any) -> None:
    for _ in range(2):
        page = load(manager, index, b"2015,237.017\n2016,240.007")
    assert "Nothing changed: all 2 years already stood here." in page.content.decode()
    assert PriceIndexYear.history.count() == 2


def test_a_later_file_adds_and_puts_right_and_says_who(manager: Client, index: Any) -> None:
    load(manager, index, b"2015,237.017\n2016,240.0")
    page = load(manager, index, b"2015,237.017\n2016,240.007\n2024,313.689")
    assert "1 added, 1 changed, 1 already here." in page.content.decode()
    assert index.years.get(year=2016).history.first().history_user.username


def test_no_file_chosen_is_said(manager: Client, index: Any) -> None:
    page = manager.post(reverse("price-index-load", args=[index.pk]), {})
    assert "file" in page.context["form"].errors


# Queries


def test_four_hundred_years_ask_no_more_than_one(
    manager: Client, index: Any, django_assert_max_num_queries: Any
) -> None:
    lines = "".join(f"{year},{year - 1700}\n" for year in range(1800, 2201))
    with django_assert_max_num_queries(24):  # SQLite takes a few hundred rows at a time
        load(manager, index, lines.encode())
    with django_assert_max_num_queries(6):
        assert manager.get(index.get_absolute_url()).content.count(b"take-out") == 401


def test_the_list_asks_the_same_for_many(
    manager: Client, django_assert_max_num_queries: Any
) -> None:
    for currency in ("GBP", "USD", "EUR", "CHF", "SEK", "NOK"):
        make.PriceIndexYearFactory(index__currency=currency)
    with django_assert_max_num_queries(6):
        page = manager.get(reverse("price-index-list")).content.decode()
    assert "6 price indexes" in page

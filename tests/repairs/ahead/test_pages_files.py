"""Page, PDF, XLSX and CSV of the years ahead tell the same figures."""

from __future__ import annotations

import csv
from decimal import Decimal
from io import BytesIO, StringIO

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader
from time_machine import travel

from materials.money import from_minor
from tests import factories as make
from tests.repairs.ahead.places import ON, face_of, pdf_text, price, sheets, text, yard

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
QUERY = "?years=12&rise=3&reserve=500&interest=2"


@pytest.fixture
def today():
    with travel(ON, tick=False):
        yield


@pytest.fixture
def manager(client):
    client.force_login(make.make_manager())
    return client


@pytest.fixture
def of():
    made = yard()
    price(made)
    make.WorkMoveFactory(
        elevation=face_of(made), first_year=2028, last_year=2029, to_year=2029,
        reason="One scaffold for all of it",
    )  # fmt: skip
    return made


def test_every_file_tells_the_totals_of_the_page(manager, of):
    address = f"/properties/{of.pk}/ahead"
    page = manager.get(f"{address}/{QUERY}")
    outlook = page.context["shown"].outlook
    pdf = pdf_text(manager.get(f"{address}.pdf{QUERY}"))
    book = sheets(manager.get(f"{address}.xlsx{QUERY}"))
    table = manager.get(f"{address}.csv{QUERY}").content.decode("utf-8-sig")
    (*_, total) = csv.reader(StringIO(table))
    wanted = [
        from_minor(minor, "GBP")
        for band in (outlook.today, outlook.nominal)
        for minor in (band.low, band.likely, band.high)
    ]
    assert wanted[1] == Decimal("1210.00")
    assert [Decimal(str(cell)) for cell in book["Years"][-1][8:14]] == wanted
    assert [Decimal(cell) for cell in total[8:14]] == wanted
    for amount in wanted:
        assert f"{amount:,}" in text(page)
        assert f"{amount:,}" in pdf
    assert page.context["shown"].lead in pdf
    assert page.context["shown"].lead in [row[2] for row in book["Assumptions"]]


def test_the_sheets_add_up_to_each_other(manager, of):
    book = sheets(manager.get(f"/properties/{of.pk}/ahead.xlsx{QUERY}"))
    assert list(book) == ["Years", "Months", "Jobs", "Moves", "Assumptions"]
    head, *years, total = book["Years"]
    likely = head.index("Today’s money, likely")
    assert len(years) == 12
    # The ten months before the first day are none of it.
    assert len(book["Months"]) == 1 + 12 * 12 - 10
    by_sheet = {
        "Years": sum(row[likely] for row in years),
        "Months": sum(row[9] for row in book["Months"][1:]),
        "Jobs": sum(row[8] for row in book["Jobs"][1:] if row[8] is not None),
    }
    assert set(by_sheet.values()) == {total[likely]}


def test_numbers_are_numbers_and_days_are_days(manager, of):
    book = sheets(manager.get(f"/properties/{of.pk}/ahead.xlsx{QUERY}"))
    for row in book["Years"][1:]:
        assert all(isinstance(cell, int | float) for cell in row[2:7] + row[8:14])
    assert all(row[1].year == row[0] for row in book["Jobs"][1:])


def test_amounts_show_their_pence_and_the_head_stays_in_view(manager, of):
    answer = manager.get(f"/properties/{of.pk}/ahead.xlsx{QUERY}")
    years = load_workbook(BytesIO(answer.content))["Years"]
    assert (years["J3"].value, years["J3"].number_format) == (10, "#,##0.00")
    assert years.freeze_panes == "A2"


def test_work_without_a_price_has_an_empty_cell_and_not_nought(manager):
    of = yard()
    make.WorkRateFactory(property=of, what="look", likely_minor=1_000)
    book = sheets(manager.get(f"/properties/{of.pk}/ahead.xlsx"))
    money = {row[1]: (row[6], *row[8:11]) for row in book["Years"][1:]}
    assert money[2027] == (0, 10, 10, 10)
    assert money[2028] == (2, None, None, None)
    assert money[2030] == (0, 0, 0, 0)
    may = next(row for row in book["Months"][1:] if (row[2].year, row[2].month) == (2028, 5))
    assert (may[6], *may[8:11]) == (2, None, None, None)


def test_each_job_tells_where_its_price_comes_from(manager, of):
    book = sheets(manager.get(f"/properties/{of.pk}/ahead.xlsx{QUERY}"))
    assert book["Jobs"][0][10] == "Where the price comes from"
    assert all("Quotation of 4 May 2026" in row[10] for row in book["Jobs"][1:])


def test_a_move_tells_what_it_saves_and_what_it_risks(manager, of):
    address = f"/properties/{of.pk}/ahead"
    (_, *moves) = sheets(manager.get(f"{address}.xlsx{QUERY}"))["Moves"]
    assert [(row[5], row[8]) for row in moves] == [(1000, "N-SILL-01")]
    for told in (text(manager.get(f"{address}/{QUERY}")), pdf_text(manager.get(f"{address}.pdf"))):
        assert "GBP 1,000.00" in told
        assert "N-SILL-01 Repaint 2028 2029" in told
        assert moves[0][12] in told


def test_words_that_a_spreadsheet_would_compute_stay_words(manager):
    of = yard(name="=1+1")
    price(of)
    book = sheets(manager.get(f"/properties/{of.pk}/ahead.xlsx"))
    assert book["Years"][1][0] == "'=1+1"


@pytest.mark.parametrize(("paper", "width"), [("a4", 595), ("letter", 612)])
def test_a_pdf_is_tagged_and_on_the_readers_paper(manager, of, paper, width):
    answer = manager.get(f"/properties/{of.pk}/ahead.pdf?paper={paper}")
    reader = PdfReader(BytesIO(answer.content))
    assert round(reader.pages[0].mediabox.width) == width
    assert reader.root_object["/MarkInfo"]["/Marked"]
    assert reader.metadata.title == "The years ahead of Larkfield Yard"


def test_a_pdf_names_what_was_typed_and_the_months(manager, of):
    told = pdf_text(manager.get(f"/properties/{of.pk}/ahead.pdf{QUERY}"))
    assert "Prices rise 3 % a year" in told
    assert "Already in the reserve GBP 500.00" in told
    assert "It earns 2 % a year" in told
    assert "March 2027 1 0 0 10.00" in told


def test_many_properties_go_into_one_file_by_currency(manager, of):
    price(yard(name="Pike Landing", currency="USD"))
    book = sheets(manager.get("/ahead.xlsx?years=5"))
    assert [row[7] for row in book["Years"] if row[1] == "Total"] == ["GBP", "USD"]
    assert "Jobs" not in book
    told = pdf_text(manager.get("/ahead.pdf?years=5"))
    assert "Larkfield Yard" in told
    assert "Pike Landing" in told
    assert "No single total" in told


@pytest.mark.parametrize("kind", ["pdf", "xlsx", "csv"])
def test_files_of_nothing_are_answered(manager, kind):
    empty = make.PropertyFactory()
    for address in (f"/ahead.{kind}?q=nowhere", f"/properties/{empty.pk}/ahead.{kind}?years=999"):
        assert manager.get(address).status_code == 200


@pytest.mark.parametrize(
    "name", ["W" * 200, "Ö" * 100 + " " + "x" * 99, "../../etc/passwd\r\nX: y"]
)
def test_a_long_or_hostile_name_fits(manager, name):
    of = yard(name=name)
    price(of)
    for kind in ("pdf", "xlsx", "csv"):
        answer = manager.get(f"/properties/{of.pk}/ahead.{kind}")
        assert answer.status_code == 200
        assert "\n" not in answer["Content-Disposition"]

"""Every number of a cost page opens to the lines behind it, and page, PDF and workbook agree."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from html.parser import HTMLParser
from io import BytesIO

import pytest
from django.urls import reverse
from openpyxl import load_workbook
from pypdf import PdfReader

from tests.factories import (
    BuildingFactory,
    CostLineFactory,
    ElevationFactory,
    MemberFactory,
    PropertyFactory,
    make_manager,
    make_viewer,
)
from tests.repairs.cost_world import index, make_world, option, plan_of
from tests.two_properties import HIDDEN, HIDDEN_PK

pytestmark = pytest.mark.django_db

LINES = "/costs/lines/"


@dataclass
class Cell:
    text: str = ""
    url: str = ""


class Tables(HTMLParser):
    """The cells of every cost table by its id; of a figure that opens, the figure alone."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tables: dict[str, list[list[Cell]]] = {}
        self.inside = self.cell = self.how = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        of = dict(attrs)
        if tag == "section" and "cost-table" in (of.get("class") or ""):
            self.rows: list[list[Cell]] = self.tables.setdefault(of["id"] or "", [])
            self.inside = True
        elif self.inside and tag == "tr":
            self.rows.append([])
        elif self.inside and tag in {"th", "td"} and of.get("class") != "bar-cell":
            self.rows[-1].append(Cell())
            self.cell = True
        elif self.cell and tag == "a":
            self.rows[-1][-1].url = of["href"] or ""
        elif of.get("class") == "figure-how":
            self.how = True

    def handle_endtag(self, tag: str) -> None:
        if tag == "section":
            self.inside = False
        elif tag in {"th", "td"}:
            self.cell = False
        elif tag == "details":
            self.how = False

    def handle_data(self, data: str) -> None:
        if self.cell and not self.how:
            self.rows[-1][-1].text = (self.rows[-1][-1].text + data).strip()


def number(text: str) -> Decimal | None:
    found = re.fullmatch(r"(?:[A-Z]{3} )?(−?)([\d,]+(?:\.\d+)?)", text)
    if found is None:
        return None
    return Decimal(f"{'-' if found[1] else ''}{found[2].replace(',', '')}")


def tables(client, address: str) -> dict[str, list[list[Cell]]]:
    found = Tables(client.get(address).content.decode()).tables
    return {slug: [row for row in rows if row] for slug, rows in found.items()}


@pytest.fixture
def world():
    made = make_world()
    index(y2023="100", y2024="110", y2025="121")
    priced = plan_of(made.resin)
    option(priced, "replace", 90000, 5000)
    option(plan_of(made.splice, labour_hours=None), "splice", 40000)
    return made


@pytest.fixture
def manager(client):
    client.force_login(make_manager())
    return client


def addresses(world) -> dict[str, str]:
    return {
        "building": reverse("cost-building", args=[world.barn.pk]),
        "property": reverse("cost-property", args=[world.property.pk]),
        "portfolio": reverse("cost-portfolio"),
    }


QUERIES = ["", "?first=2024-04-01&last=2025-03-31"]


def added_up(client, url: str, count_alone: bool) -> Decimal:
    """The sum at the foot of the list, or how many lines it has."""
    page = client.get(url).content.decode()
    lead = re.search(r'class="lead">(.*?)</p>', page, re.DOTALL)
    assert lead is not None
    count, total = re.match(
        r"(No|[\d,]+) cost lines?.*?(?:: (\S+ \S+) in all)?\.", lead[1]
    ).groups()  # type: ignore[union-attr]
    if "Tax within it" in lead[1] and not count_alone:
        total = re.search(r"Tax within it: (\S+ \S+)\.", lead[1])[1]  # type: ignore[index]
    if count_alone:
        return Decimal(0 if count == "No" else count)
    if count == "No":
        return Decimal(0)
    foot = re.findall(r"<tfoot>.*?</tfoot>", page, re.DOTALL)
    assert len(foot) == 1
    assert total in foot[0] or "Tax within it" in lead[1]
    found = number(total)
    assert found is not None
    return found


@pytest.mark.parametrize("query", QUERIES)
@pytest.mark.parametrize("which", ["building", "property", "portfolio"])
def test_every_number_that_is_a_link_leads_to_lines_that_add_up_to_it(
    manager, world, which, query
) -> None:
    followed = 0
    for slug, rows in tables(manager, addresses(world)[which] + query).items():
        heads = [cell.text for cell in rows[0] if cell.text]
        for row in rows[1:]:
            for column, cell in enumerate(row[1:], start=1):
                if cell.url.startswith(LINES) and number(cell.text) is not None:
                    lines = heads[column] == "Lines"
                    assert added_up(manager, cell.url, lines) == number(cell.text), (slug, row)
                    followed += 1
    assert followed > 25


@pytest.mark.parametrize("which", ["building", "property", "portfolio"])
def test_every_number_opens_one_way_or_the_other(manager, world, which) -> None:
    """To its lines, or to the figures that it was reached by; how many repairs and how many
    square metres there are is told on the page that the row leads to."""
    page = manager.get(addresses(world)[which]).content.decode()
    shut = re.findall(r'<td class="num" data-label="([^"]*)">([−\d][^<]*)</td>', page)

    assert {label for label, _ in shut} <= {"m²", "Repairs"}


def test_all_the_rest_opens_to_the_lines_of_all_the_rest(manager) -> None:
    building = BuildingFactory()
    for minor in range(100, 4600, 100):
        CostLineFactory(
            building=building, member=MemberFactory(building=building), amount_minor=minor
        )
    CostLineFactory(building=building, amount_minor=999999)

    rows = tables(manager, reverse("cost-building", args=[building.pk]))["GBP-member"]

    (rest,) = [row for row in rows if row[0].text.endswith("others")]
    assert number(rest[1].text) == Decimal("21.00")
    assert added_up(manager, rest[1].url, count_alone=False) == Decimal("21.00")


def test_the_rest_of_many_elevations_opens_to_its_lines_those_of_members_too(manager) -> None:
    """Of 42 with 1.00 to 42.00 the last two, 1.00 on a member and 2.00, and 5.00 on none."""
    building = BuildingFactory()
    for minor in range(100, 4300, 100):
        elevation = ElevationFactory(building=building, name=f"Side {minor}")
        on = {"member": MemberFactory(building=building, elevation=elevation)}
        CostLineFactory(building=building, amount_minor=minor,
                        **(on if minor == 100 else {"elevation": elevation}))  # fmt: skip
    CostLineFactory(building=building, amount_minor=500)

    rows = tables(manager, reverse("cost-building", args=[building.pk]))["GBP-elevation"]

    (rest,) = [row for row in rows if row[0].text == "3 others"]
    assert number(rest[1].text) == Decimal("8.00")
    assert added_up(manager, rest[1].url, count_alone=False) == Decimal("8.00")


@pytest.mark.parametrize("which", ["building", "property", "portfolio"])
def test_page_pdf_and_workbook_agree_on_every_figure(manager, world, which) -> None:
    address = addresses(world)[which]
    shown = tables(manager, address)
    pdf = PdfReader(BytesIO(manager.get(f"{address.rstrip('/')}.pdf").content))
    paper = "".join(page.extract_text() for page in pdf.pages)
    book = load_workbook(BytesIO(manager.get(f"{address.rstrip('/')}.xlsx").content))

    assert len(book.sheetnames) == len(shown)
    for rows, sheet in zip(shown.values(), book.worksheets, strict=True):
        for row, kept in zip(rows[1:], sheet.iter_rows(min_row=2, values_only=True), strict=False):
            for cell, value in zip(row, kept, strict=False):
                figure = number(cell.text)
                if figure is None:
                    assert cell.text == (value or "")
                else:
                    assert Decimal(str(value)) == figure
                assert cell.text in paper or " ".join(cell.text.split()) in " ".join(paper.split())


def test_the_words_above_the_list_say_what_was_asked_for(manager, world) -> None:
    page = manager.get(
        LINES,
        {
            "building": world.barn.pk, "elevation": world.north.pk, "kind": "labour",
            "year": "2023", "borne_by": "owner", "repair_kind": "resin", "cause": "gutter",
            "member_kind": "sill", "money_class": "none", "repair": world.resin.pk,
            "first": "2023-01-01", "last": "2023-12-31", "member": world.sill.pk,
        },
    ).content.decode()  # fmt: skip

    lead = " ".join(re.search(r'class="lead">(.*?)</p>', page, re.DOTALL)[1].split())  # type: ignore[index]
    for words in (
        "1 cost line", "of Barn", "on the North elevation", "of the kind labour",
        "of the year 2023", "borne by: owner", "on repairs: resin repair",
        "cause: gutter or downpipe", "on members: sill", "neither capital nor revenue said",
        "since 1 January 2023", "up to 31 December 2023", "of N-SILL-01", ": GBP 300.00 in all.",
    ):  # fmt: skip
        assert words in lead


@pytest.mark.parametrize(
    "query",
    ["member=abc", "elevation=1;2", "year=2,4", "borne_by=nobody", "building=0", "currency=pound",
     "repair=1,,2", "tax=maybe", "areas=all", f"member={'9' * 30}"],
)  # fmt: skip
def test_an_address_that_asks_for_nonsense_is_told_so_and_shows_no_line(manager, query) -> None:
    CostLineFactory(description="Tower hire")

    page = manager.get(f"{LINES}?{query}").content.decode()

    assert 'class="errorlist"' in page
    assert "Tower hire" not in page


def test_conditions_survive_the_filter_and_can_be_left_out_one_by_one(manager, world) -> None:
    page = manager.get(LINES, {"building": world.barn.pk, "year": 2024}).content.decode()

    assert re.search(r'<input type="hidden" name="year" value="2024"', page)
    assert f'href="?building={world.barn.pk}"' in page
    assert 'href="?year=2024"' in page


def test_lines_of_unlike_currencies_have_a_sum_each(manager) -> None:
    for currency in ("GBP", "EUR"):
        building = BuildingFactory(property=PropertyFactory(currency=currency))
        CostLineFactory(building=building, currency=currency, amount_minor=1200)

    page = manager.get(LINES).content.decode()

    assert "2 cost lines: EUR 12.00 and GBP 12.00 in all." in page


def test_a_foreign_line_stands_as_it_counts_with_what_was_paid_behind_it(manager, world) -> None:
    page = manager.get(LINES, {"member": world.sill.pk, "kind": "material"}).content.decode()

    assert "GBP 80.00 (USD 100.00)" in page
    assert "1 cost line of the kind material, of N-SILL-01: GBP 80.00 in all." in page


def test_a_hidden_thing_named_in_the_address_is_neither_named_nor_counted(client) -> None:
    from tests.two_properties import make_side

    given = make_side("Open")
    make_side(HIDDEN, HIDDEN_PK)
    client.force_login(make_viewer(given.property))

    for name in ("building", "elevation", "member", "repair", "property"):
        page = client.get(LINES, {name: HIDDEN_PK}).content.decode()
        assert HIDDEN not in page
        assert "No cost line" in page


def test_after_a_sale_every_table_tells_the_present_owners_lines_alone(client) -> None:
    """Scenario 8, in the deeper tables: the splice cost 500.00 before the sale, and the resin
    repair was paid on both sides of it."""
    from tests.factories import OwnershipFactory

    world = make_world()
    for repair in (world.resin, world.splice):
        option(plan_of(repair), "replace", 123400)
    OwnershipFactory(property=world.property, from_on=date(2010, 1, 1), to_on=date(2024, 12, 31))
    OwnershipFactory(property=world.property, from_on=date(2024, 12, 31))
    CostLineFactory(
        building=world.barn, member=world.sill, repair=world.resin, amount_minor=4321,
        worked_on=date(2026, 1, 5),
    )  # fmt: skip
    client.force_login(make_viewer(world.property))

    for address in addresses(world).values():
        for ending in ("", ".pdf", ".xlsx"):
            answer = client.get(address.rstrip("/") + (ending or "/"))
            told = _read(answer.content, ending)
            assert "43.21" in told, address
            for hidden in ("500.00", "1,234.00", "1234", "270.00", "300.00", "Post"):
                assert hidden not in told, (address, ending, hidden)
        page = client.get(address).content.decode()
        assert "1 planned repair is left out: a part of it was an earlier owner" in page


def _read(content: bytes, ending: str) -> str:
    if ending == ".pdf":
        return "".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages)
    if ending == ".xlsx":
        book = load_workbook(BytesIO(content))
        cells = (cell for sheet in book for row in sheet.iter_rows() for cell in row)
        return " ".join(str(cell.value) for cell in cells if cell.value is not None)
    page = content.decode()
    return page[page.index('id="content"') :]

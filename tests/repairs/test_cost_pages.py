"""The cost pages and downloads, through the front door."""

from __future__ import annotations

import csv
import io
from datetime import date
from io import BytesIO

import pytest
from django.urls import reverse
from openpyxl import load_workbook
from pypdf import PdfReader

from repairs.models import CostLine, SharedCost
from tests.factories import (
    BuildingFactory,
    CostLineFactory,
    MemberFactory,
    OwnershipFactory,
    PropertyFactory,
    RepairFactory,
    SharedCostFactory,
    make_crew,
    make_manager,
    make_viewer,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    client.force_login(make_manager())
    return client


def typed(**changes) -> dict[str, str]:
    return {
        "kind": "access",
        "description": "Tower hire",
        "amount": "120.00",
        "currency": "GBP",
        "worked_on": "2026-05-04",
        "borne_by": "owner",
        **changes,
    }


def test_the_cost_screen_opens_with_the_lifetime_cost_in_words(manager) -> None:
    CostLineFactory(amount_minor=123450)

    page = manager.get(reverse("cost-list"))

    assert "GBP 1,234.50 over the recorded life" in page.content.decode()


def test_the_cost_screen_of_an_empty_installation_says_how_to_begin(manager) -> None:
    page = manager.get(reverse("cost-list")).content.decode()

    assert "No property is here for you to read yet" in page
    assert "Costs come from logged repairs" in page


@pytest.mark.parametrize("name", ["cost-list", "cost-line-list"])
def test_more_rows_ask_no_more_queries(manager, name, django_assert_max_num_queries) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def count(rows: int) -> int:
        for _ in range(rows):
            member = MemberFactory()
            CostLineFactory(building=member.building, member=member)
        manager.get(reverse(name))
        with CaptureQueriesContext(connection) as queries:
            manager.get(reverse(name))
        return len(queries)

    few, many = count(2), count(28)

    assert many == few <= 13


def test_a_buildings_page_shows_each_division_and_the_same_total(manager) -> None:
    member = MemberFactory()
    CostLineFactory(building=member.building, member=member, amount_minor=9000)
    CostLineFactory(building=member.building, kind="credit", amount_minor=-1000)

    page = manager.get(reverse("cost-building", args=[member.building_id])).content.decode()

    for words in ("Cost by year", "Cost by kind", "Cost by cause", "Cost by member"):
        assert words in page
    # The opening sentence, and the totals by elevation, kind, member kind and member: a division
    # of one part has no total of its own.
    assert page.count("GBP 80.00") == 5
    assert member.mark in page
    assert "−10.00" in page


def test_the_days_asked_for_limit_what_is_counted(manager) -> None:
    building = CostLineFactory(worked_on=date(2020, 1, 1), amount_minor=500).building
    CostLineFactory(building=building, worked_on=date(2021, 1, 1), amount_minor=700)

    address = reverse("cost-building", args=[building.pk])
    page = manager.get(address, {"first": "2021-01-01", "last": "2021-12-31"}).content.decode()

    assert "GBP 7.00 from 1 January 2021 to 31 December 2021" in page


def test_days_the_wrong_way_round_are_told_and_not_guessed(manager) -> None:
    building = BuildingFactory()

    address = reverse("cost-building", args=[building.pk])
    page = manager.get(address, {"first": "2022-01-01", "last": "2021-01-01"}).content.decode()

    assert "Swap the two" in page


def test_the_workbook_holds_the_same_figures_as_numbers(manager) -> None:
    building = CostLineFactory(amount_minor=123450).building

    answer = manager.get(reverse("cost-building-file", args=[building.pk, "xlsx"]))
    book = load_workbook(BytesIO(answer.content))

    assert book.sheetnames == [
        "Whole", "Year", "Kind", "Cause", "Repair kind", "Member kind", "Borne by",
        "Capital or revenue", "Tax", "Member",
    ]  # fmt: skip
    assert [cell.value for cell in book["Year"]["B"]] == ["GBP", 1234.5]


def test_a_label_never_becomes_a_formula_in_the_workbook(manager) -> None:
    building = BuildingFactory(name="=1+1")
    CostLineFactory(building=building)

    answer = manager.get(reverse("cost-property-file", args=[building.property_id, "xlsx"]))
    book = load_workbook(BytesIO(answer.content))

    assert book["Building"]["A2"].value == "'=1+1"


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_the_pdf_has_the_total_on_the_paper_asked_for(manager, paper, size) -> None:
    building = CostLineFactory(amount_minor=123450).building

    address = reverse("cost-building-file", args=[building.pk, "pdf"])
    pdf = PdfReader(BytesIO(manager.get(address, {"paper": paper}).content))

    assert (round(pdf.pages[0].mediabox.width), round(pdf.pages[0].mediabox.height)) == size
    assert "GBP 1,234.50" in "".join(page.extract_text() for page in pdf.pages)


def test_a_typed_cost_becomes_a_line_on_the_building(manager) -> None:
    member = MemberFactory()

    answer = manager.post(
        reverse("cost-line-new", args=[member.building_id]), typed(member=member.pk)
    )

    assert answer.status_code == 302
    line = CostLine.objects.get()
    assert (line.building, line.member, line.amount_minor) == (member.building, member, 12000)


def test_a_credit_is_typed_as_a_plain_amount_and_counts_as_money_back(manager) -> None:
    building = BuildingFactory()

    manager.post(reverse("cost-line-new", args=[building.pk]), typed(kind="credit"))

    assert CostLine.objects.get().amount_minor == -12000


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"amount": ""}, "Still empty: type or choose"),
        ({"amount": "-5"}, "above zero"),
        ({"amount": "a lot"}, "not an amount of money"),
        ({"amount": "1.234567"}, "two digits after the point"),
        ({"currency": "USD"}, "what 1 USD was worth in GBP"),
        ({"currency": "XQQ"}, "not a currency code"),
        ({"worked_on": "1725-01-01"}, "out of reach"),
        ({"worked_on": "2225-01-01"}, "out of reach"),
        ({"tax": "200.00"}, "The tax lies within the amount"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence_and_nothing_is_lost(
    manager, changes, words
) -> None:
    building = BuildingFactory()

    page = manager.post(reverse("cost-line-new", args=[building.pk]), typed(**changes))

    assert words in page.content.decode()
    assert "Tower hire" in page.content.decode()
    assert not CostLine.objects.exists()


def test_a_scaffold_is_split_by_length_to_the_cent(manager) -> None:
    building = BuildingFactory()
    members = [MemberFactory(building=building, length_mm=length) for length in (1000, 1000, 1000)]

    manager.post(
        reverse("cost-shared-new", args=[building.pk]),
        typed(rule="length", members=[member.pk for member in members], amount="100.00"),
    )

    shares = sorted(CostLine.objects.values_list("amount_minor", flat=True))
    assert shares == [3333, 3333, 3334]
    assert len({line.shared_id for line in CostLine.objects.all()}) == 1


def test_a_split_by_length_names_the_member_without_one(manager) -> None:
    member = MemberFactory(length_mm=None)

    page = manager.post(
        reverse("cost-shared-new", args=[member.building_id]),
        typed(rule="length", members=[member.pk]),
    )

    assert f"{member.mark} has no length recorded" in page.content.decode()


def test_a_line_is_taken_back_once_by_a_reversing_line(manager) -> None:
    line = CostLineFactory()
    address = reverse("cost-line-reverse", args=[line.pk])

    manager.post(address, {"reason": "entered twice", "on": "2026-06-01"})
    again = manager.post(address, {"reason": "entered twice", "on": "2026-06-01"})

    assert "already reversed" in again.content.decode()
    assert sum(CostLine.objects.values_list("amount_minor", flat=True)) == 0
    assert CostLine.objects.count() == 2


def test_crew_may_read_costs_but_not_write_them(client) -> None:
    line = CostLineFactory()
    client.force_login(make_crew())

    assert client.get(reverse("cost-list")).status_code == 200
    assert client.get(reverse("cost-line-new", args=[line.building_id])).status_code == 403
    address = reverse("cost-line-reverse", args=[line.pk])
    assert client.post(address, {"reason": "x", "on": "2026-06-01"}).status_code == 403


def test_a_viewer_reads_the_costs_of_the_properties_given_and_no_others(client) -> None:
    given, other = PropertyFactory(name="Given Yard"), PropertyFactory(name="Other Yard")
    for property in (given, other):
        CostLineFactory(building=BuildingFactory(property=property), description=property.name)
    client.force_login(make_viewer(given))

    for name in ("cost-list", "cost-line-list", "cost-portfolio"):
        page = client.get(reverse(name)).content.decode()
        assert "Other Yard" not in page
    assert client.get(reverse("cost-property", args=[other.pk])).status_code == 404
    assert client.get(reverse("cost-property-file", args=[other.pk, "pdf"])).status_code == 404


def test_the_lines_behind_a_figure_can_be_had_as_a_file(manager) -> None:
    CostLineFactory(description="Tower hire")

    answer = manager.get(reverse("cost-line-list"), {"_export": "csv"})

    assert "Tower hire" in answer.content.decode()


def test_the_file_of_the_lines_can_be_added_up_and_holds_every_day(manager) -> None:
    CostLineFactory(
        kind="credit", amount_minor=-123456, invoiced_on=date(2026, 5, 9), invoice="R 7"
    )

    answer = manager.get(reverse("cost-line-list"), {"_export": "csv"})
    page = manager.get(reverse("cost-line-list")).content.decode()

    (line,) = csv.DictReader(io.StringIO(answer.content.decode()))
    assert (line["Amount"], line["Currency"], line["Day of the work"]) == (
        "-1234.56", "GBP", "2026-05-04",
    )  # fmt: skip
    assert (line["Day of the invoice"], line["Invoice number"]) == ("2026-05-09", "R 7")
    assert "Day of the work" not in page


def test_a_cost_tied_to_a_repair_carries_its_member_and_cause(manager) -> None:
    from tests.factories import DefectFactory

    repair = RepairFactory()
    repair.defects.add(DefectFactory(member=repair.member, cause="gutter"))

    manager.post(
        reverse("cost-line-new", args=[repair.member.building_id]), typed(repair=repair.pk)
    )

    line = CostLine.objects.get()
    assert (line.member, line.cause) == (repair.member, "gutter")


def test_after_a_sale_the_new_owner_is_not_told_what_the_old_one_spent(client) -> None:
    """Scenario 8: on every page of a viewer; a manager is told all."""
    repair = RepairFactory()
    building = repair.member.building
    OwnershipFactory(property=building.property, from_on=date(2010, 1, 1), to_on=date(2025, 6, 30))
    OwnershipFactory(property=building.property, from_on=date(2025, 6, 30))
    for day, minor in ((date(2025, 6, 29), 77700), (date(2025, 6, 30), 12300)):
        CostLineFactory(
            building=building, elevation=repair.member.elevation, member=repair.member,
            repair=repair, amount_minor=minor, worked_on=day,
        )  # fmt: skip
    pages = [
        reverse("cost-list"),
        reverse("cost-line-list"),
        reverse("cost-portfolio"),
        reverse("cost-property", args=[building.property_id]),
        reverse("cost-building", args=[building.pk]),
        reverse("repair-list"),
        building.property.get_absolute_url(),
        building.get_absolute_url(),
        repair.member.elevation.get_absolute_url(),
        repair.member.get_absolute_url(),
        repair.get_absolute_url(),
    ]

    client.force_login(make_viewer(building.property))
    for address in pages:
        page = client.get(address).content.decode()
        assert "123.00" in page, address
        assert "777.00" not in page, address
        assert "900.00" not in page, address
    old = CostLine.objects.get(amount_minor=77700)
    assert client.get(old.get_absolute_url()).status_code == 404

    client.force_login(make_manager())
    assert "900.00" in client.get(pages[4]).content.decode()
    assert client.get(old.get_absolute_url()).status_code == 200


def test_a_first_owner_is_told_what_was_spent_before_the_records_name_them(client) -> None:
    line = CostLineFactory(worked_on=date(2009, 5, 1), amount_minor=4200)
    OwnershipFactory(property=line.building.property, from_on=date(2010, 1, 1))

    client.force_login(make_viewer(line.building.property))

    page = client.get(reverse("cost-building", args=[line.building_id])).content.decode()
    assert "42.00" in page


def scaffold(manager) -> SharedCost:
    building = BuildingFactory()
    members = [MemberFactory(building=building, length_mm=length) for length in (1000, 2000)]
    manager.post(
        reverse("cost-shared-new", args=[building.pk]),
        typed(rule="length", members=[member.pk for member in members], amount="1200.00"),
    )
    return SharedCost.objects.get()


def test_a_credit_on_a_scaffold_goes_back_by_the_same_shares(manager) -> None:
    """Scenario 12, through the page."""
    shared = scaffold(manager)
    credit = {"amount": "300.00", "reason": "Down a week early", "on": "2027-01-09"}

    answer = manager.post(reverse("cost-shared-credit", args=[shared.pk]), credit)

    assert answer.status_code == 302
    amounts = sorted(CostLine.objects.values_list("amount_minor", flat=True))
    assert amounts == [-20000, -10000, 40000, 80000]
    assert set(CostLine.objects.filter(kind="credit").values_list("year", flat=True)) == {2027}


def test_a_shared_cost_is_taken_back_whole_and_only_once(manager) -> None:
    shared = scaffold(manager)
    address = reverse("cost-shared-take-back", args=[shared.pk])

    manager.post(address, {"reason": "entered twice", "on": "2026-06-01"})
    again = manager.post(address, {"reason": "entered twice", "on": "2026-06-01"})

    assert "was already taken back" in again.content.decode()
    assert sum(CostLine.objects.values_list("amount_minor", flat=True)) == 0
    assert CostLine.objects.count() == 4


def test_a_credit_of_nothing_is_refused_beside_its_field(manager) -> None:
    shared = scaffold(manager)

    page = manager.post(
        reverse("cost-shared-credit", args=[shared.pk]),
        {"amount": "0", "reason": "x", "on": "2027-01-09"},
    )

    assert "Type how much came back, above zero" in page.content.decode()
    assert CostLine.objects.count() == 2


def test_a_credit_is_asked_for_in_the_currency_of_its_cost(manager) -> None:
    line = CostLineFactory(
        building=BuildingFactory(property=PropertyFactory(currency="USD")),
        currency="USD",
        shared=SharedCostFactory(currency="USD"),
    )

    page = manager.get(reverse("cost-shared-detail", args=[line.shared_id])).content.decode()

    assert "In USD." in page
    assert "In GBP." not in page

"""The page of how long repairs last, and the files that say the same."""

from __future__ import annotations

import csv
from datetime import UTC, date, datetime, timedelta
from io import BytesIO, StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from openpyxl import load_workbook
from pypdf import PdfReader
from time_machine import travel

from repairs.models import Repair
from tests import factories as make
from tests.two_properties import HIDDEN

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]

ON = datetime(2026, 11, 25, 9, tzinfo=UTC)
PAGE = "/repairs/lives/"


@pytest.fixture
def today():
    with travel(ON, tick=False):
        yield


@pytest.fixture
def manager(client):
    client.force_login(make.make_manager())
    return client


def repair_that_lasted(years: float, failed: bool, **facts) -> Repair:
    """Failed after so many years, or sound since then."""
    length = timedelta(days=round(years * 365.2425))
    if failed:
        began = datetime(2000, 5, 4, 9, tzinfo=UTC)
        return make.RepairFactory(
            began_at=began, state="failed", failed_on=began.date() + length, **facts
        )
    return make.RepairFactory(began_at=ON - length, **facts)


def many(exposure: str, years: range, failed: int, **facts):
    member = make.MemberFactory(exposure=exposure, **facts)
    for number, each in enumerate(years):
        repair_that_lasted(each, number < failed, member=member)


def text(page) -> str:
    return " ".join(page.content.decode().split())


def test_an_empty_installation_says_what_will_stand_here(manager):
    page = text(manager.get(PAGE))
    assert "No repair with a known life fits yet." in page
    assert "a curve of how many are still sound will stand here" in page


def test_too_few_have_the_bare_counts_and_the_limit_is_said(manager):
    many("severe", range(1, 8), failed=1)
    page = text(manager.get(PAGE))
    assert "of 7, 1 has failed; too few for a curve" in page
    assert "from 10 repairs on of which 3 have failed" in page
    assert '<svg class="curve"' not in page


def test_the_first_sentence_says_how_long_they_last(manager):
    many("severe", range(1, 13), failed=12)
    page = text(manager.get(PAGE))
    assert (
        "of 12, 12 have failed; half last 6.0 years or longer (95 % band 2.0 to 10.0 years)" in page
    )
    assert '<svg class="curve"' in page
    assert "S(t) = Π (1 − d / n)" in page


def test_while_more_than_half_are_sound_no_median_is_made_up(manager):
    many("severe", range(1, 21), failed=4)
    page = text(manager.get(PAGE))
    assert "no median life is known yet" in page
    assert "Not reached" in page


def test_two_groups_are_compared_with_the_test_and_its_caveat(manager):
    many("severe", range(1, 16), failed=15)
    many("sheltered", range(20, 40), failed=5)
    page = text(manager.get(PAGE, {"exposure": "sheltered", "against": "exposure:severe"}))
    assert "Exposure severe: of 15, 15 have failed" in page
    assert "exposure severe fails sooner." in page
    assert "Log-rank test of the two groups" in page
    assert "p &lt; 0.001" in page
    assert "it does not show why" in page
    assert page.count('stroke-dasharray="7 4"') == 2


def test_without_a_choice_of_its_own_the_first_group_is_all_others(manager):
    many("severe", range(1, 13), failed=12)
    many("sheltered", range(1, 4), failed=0)
    many("partly", range(1, 4), failed=0)
    page = text(manager.get(PAGE, {"against": "exposure:severe"}))
    assert "All but exposure severe: of 6, 0 have" in page
    assert "not tested against each other" in page


@pytest.mark.parametrize(
    ("query", "count"),
    [
        ({"kind": "splice"}, 1), ({"kind": "resin"}, 3), ({"exposure": "severe"}, 2),
        ({"crew": "1"}, 3), ({"crew": "2"}, 1), ({"crew": "3"}, 0), ({}, 4),
    ],
)  # fmt: skip
def test_each_choice_narrows(manager, query, count):
    repair_that_lasted(3, False, kind="splice", member__exposure="severe")
    repair_that_lasted(3, False, member__exposure="severe", done_by="Robin and Ash")
    repair_that_lasted(3, False)
    repair_that_lasted(3, False)
    (group,) = manager.get(PAGE, query).context["report"].groups
    assert group.survival.count == count


def test_a_product_narrows_to_the_repairs_mostly_made_of_it(manager):
    one = repair_that_lasted(3, False)
    repair_that_lasted(3, False)
    share = make.BatchShareFactory(
        stage__repair=one, batch__sheet__product__kind="filler", batch__sheet__product__name="Putty"
    )
    product = share.batch.sheet.product_id
    page = manager.get(PAGE, {"product": product})
    assert page.context["report"].groups[0].survival.count == 1
    assert "Putty" in page.context["report"].lead
    beside = manager.get(PAGE, {"against": f"product:{product}"})
    assert [group.survival.count for group in beside.context["report"].groups] == [1, 1]


def test_a_property_narrows_to_itself(manager):
    one = repair_that_lasted(3, False)
    repair_that_lasted(3, False)
    page = manager.get(PAGE, {"property": one.member.building.property_id})
    assert page.context["report"].groups[0].survival.count == 1


def test_damage_again_counts_as_chosen(manager):
    first = repair_that_lasted(5, False)
    make.RepairFactory(member=first.member, relation="repeat", follows=first,
                       began_at=ON - timedelta(days=30))  # fmt: skip
    for query, failed in (({}, 0), ({"again": "on"}, 1)):
        (group,) = manager.get(PAGE, query).context["report"].groups
        assert group.survival.failed == failed


def test_a_group_against_itself_is_refused_and_the_choice_stands(manager):
    page = manager.get(PAGE, {"kind": "resin", "against": "kind:resin"})
    assert "This is the group chosen already" in text(page)
    assert len(page.context["report"].groups) == 1


@pytest.mark.parametrize(
    "query",
    [
        {"kind": "nonsense"}, {"product": "9" * 40}, {"property": "9" * 40}, {"crew": "-1"},
        {"exposure": "\x00"}, {"against": "lives:1"}, {"against": ":::"}, {"against": "kind:"},
        {"property": "x"},
    ],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["", "xlsx", "csv", "pdf"])
def test_hostile_choices_break_nothing(manager, query, kind):
    repair_that_lasted(3, False)
    address = reverse("repair-lives-file", args=[kind]) if kind else PAGE
    assert manager.get(address, query).status_code == 200


# What a person may see


def test_a_viewer_reads_of_the_properties_given(client):
    mine = repair_that_lasted(3, False)
    repair_that_lasted(3, False, member__building__property__name=HIDDEN)
    make.BatchShareFactory(batch__sheet__product__name="Not in a repair of theirs")
    client.force_login(make.make_viewer(mine.member.building.property))
    page = client.get(PAGE)
    assert page.context["report"].groups[0].survival.count == 1
    assert HIDDEN not in text(page)
    assert "Not in a repair of theirs" not in text(page)


def test_the_list_of_repairs_leads_here(manager):
    assert PAGE in text(manager.get(reverse("repair-list")))


def test_the_page_asks_no_more_of_many(manager):
    def count(query: dict[str, str]) -> int:
        manager.get(PAGE, query)
        with CaptureQueriesContext(connection) as queries:
            manager.get(PAGE, query)
        return len(queries)

    query = {"crew": "1", "against": "exposure:severe"}
    many("severe", range(1, 4), failed=1)
    few = count(query)
    for number in range(20):
        many("severe" if number % 2 else "partly", range(1, 4), failed=1)
    assert count(query) == few <= 12


# Files


def test_the_workbook_has_the_summary_the_curve_and_every_repair(manager):
    many("severe", range(1, 13), failed=12, mark="=HYPERLINK(1)")
    book = load_workbook(BytesIO(manager.get(reverse("repair-lives-file", args=["xlsx"])).content))
    assert book.sheetnames == ["Summary", "Curve", "Repairs"]
    curve = list(book["Curve"].values)
    assert curve[1][1:3] == (pytest.approx(1, abs=0.01), pytest.approx(11 / 12))
    repairs = list(book["Repairs"].values)
    assert len(repairs) == 13
    assert repairs[1][1] == "'=HYPERLINK(1)"
    assert repairs[1][5].date() == date(2000, 5, 4)


def test_the_table_is_the_curve(manager):
    many("severe", range(1, 13), failed=12)
    answer = manager.get(reverse("repair-lives-file", args=["csv"]))
    rows = list(csv.DictReader(StringIO(answer.content.decode("utf-8-sig"))))
    assert len(rows) == 12
    assert float(rows[-1]["Share still sound"]) == 0
    assert rows[-1]["Band, low"] == ""


def test_page_and_document_say_the_same(manager):
    many("severe", range(1, 13), failed=12)
    answer = manager.get(reverse("repair-lives-file", args=["pdf"]), {"paper": "letter"})
    told = " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages)
    lead = manager.get(PAGE).context["report"].lead
    assert "".join(lead.split()) in "".join(told.split())
    assert "Kaplan and Meier" in told

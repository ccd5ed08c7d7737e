"""The screen Stores, and receiving into it."""

import csv
import io
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from materials.models import Lot, Movement
from tests import factories

pytestmark = pytest.mark.django_db
TODAY = timezone.now().date


@pytest.fixture
def manager(client):
    user = factories.make_manager()
    client.force_login(user)
    return client


@pytest.fixture
def crew(client):
    client.force_login(factories.make_crew())
    return client


def in_days(days: int) -> date:
    return TODAY() + timedelta(days=days)


def rows(response) -> list[Lot]:
    return [row.record for row in response.context["table"].rows]


def test_the_stores_begin_with_what_needs_care(manager):
    factories.LotFactory(expires_on=in_days(-1))
    factories.LotFactory(expires_on=in_days(10))
    factories.LotFactory(expires_on=in_days(400), low_below=Decimal(2000))
    over = factories.LotFactory(expires_on=in_days(400))
    factories.MovementFactory(lot=over, amount=Decimal(-1100))
    factories.make_kit_lot(factories.ProductFactory(), held_back=True, held_back_reason="Leaks",
                           expires_on=in_days(400))  # fmt: skip
    page = manager.get("/stores/")
    until = f"{in_days(60):%-d %B %Y}"
    assert (
        f"5 lots are in the stores: 1 expired, 1 to be used by {until}, 1 running low, "
        "1 to be counted, 1 held back."
    ) in page.text


def test_empty_stores_say_how_to_begin(manager):
    page = manager.get("/stores/")
    assert "Nothing is in the stores yet." in page.text
    assert "begin with &#x27;Receive a lot&#x27;" in page.text


def test_the_soonest_expiry_comes_first_and_none_last(crew):
    never = factories.LotFactory(expires_on=None)
    late = factories.LotFactory(expires_on=in_days(90))
    soon = factories.LotFactory(expires_on=in_days(5))
    assert rows(crew.get("/stores/")) == [soon, late, never]
    assert rows(crew.get("/stores/?sort=-soonest_day")) == [late, soon, never]


def test_a_kit_is_one_row_with_the_lesser_of_a_and_b(crew):
    kit = factories.make_kit_lot(factories.ProductFactory(), kits=2, number="K7")
    b = kit.part_lots.get(part="b")
    factories.MovementFactory(lot=b, amount=Decimal(-330))
    page = crew.get("/stores/")
    assert rows(page) == [kit]
    assert "1 kit: A 2000 g, B 330 g" in page.text
    assert "<small>A K7-A</small><br><small>B K7-B</small>" in page.text


def test_a_kit_ends_with_the_part_that_ends_first(crew):
    kit = factories.make_kit_lot(factories.ProductFactory(), expires_on=in_days(300))
    kit.part_lots.filter(part="b").update(usable_until=in_days(-2))
    page = crew.get("/stores/?state=expired")
    assert rows(page) == [kit]
    assert "Expired" in page.text


@pytest.mark.parametrize("typed", ["L1O-7", "l10-7", "LI0-7", "l 1 0 - 7", "0-7"])
def test_a_lot_number_is_found_however_it_was_read(crew, typed):
    lot = factories.LotFactory(number="L10-7")
    factories.LotFactory(number="X999")
    assert rows(crew.get("/stores/", {"q": typed})) == [lot]


def test_a_number_of_a_part_finds_its_kit(crew):
    kit = factories.make_kit_lot(factories.ProductFactory(), number="K7")
    factories.LotFactory()
    assert rows(crew.get("/stores/", {"q": "k7-b"})) == [kit]


def test_a_name_of_a_product_finds_its_lots(crew):
    lot = factories.LotFactory(product__name="Oak Putty")
    factories.LotFactory()
    assert rows(crew.get("/stores/", {"q": "putty oak"})) == [lot]


def test_each_state_can_be_asked_for(crew):
    held = factories.LotFactory(held_back=True, held_back_reason="Leaks", expires_on=in_days(400))
    expired = factories.LotFactory(expires_on=in_days(-1))
    soon = factories.LotFactory(expires_on=in_days(0))
    low = factories.LotFactory(expires_on=in_days(400), low_below=Decimal(1001))
    over = factories.LotFactory(expires_on=in_days(400))
    factories.MovementFactory(lot=over, amount=Decimal(-1001))
    gone = factories.LotFactory(emptied_on=in_days(-3))
    kit = factories.make_kit_lot(factories.ProductFactory(), expires_on=in_days(400))
    kit.part_lots.filter(part="a").update(held_back=True, held_back_reason="Lumps")
    found = {
        state: set(rows(crew.get("/stores/", {"state": state})))
        for state in ("held", "expired", "soon", "low", "count", "emptied", "released")
    }
    assert found == {
        "held": {held, kit}, "expired": {expired}, "soon": {soon}, "low": {low}, "count": {over},
        "emptied": {gone}, "released": {soon, low, over},
    }  # fmt: skip
    assert gone not in rows(crew.get("/stores/"))


def test_where_it_is_kept_and_its_kind_narrow_the_list(crew):
    van = factories.LotFactory(kept_at="Van 2")
    putty = factories.LotFactory(kept_at="Shelf B", product__kind="filler")
    assert rows(crew.get("/stores/?kept_at=van")) == [van]
    assert rows(crew.get("/stores/?kind=filler")) == [putty]
    assert rows(crew.get(f"/stores/?product={van.product_id}")) == [van]


@pytest.mark.parametrize(
    "query", ["?state=nonsense", "?product=9999", "?page=99", "?q=%00", "?sort=nonsense", "?kind='"]
)
def test_a_query_that_makes_no_sense_is_survived(crew, query):
    factories.LotFactory()
    assert crew.get(f"/stores/{query}").status_code in (200, 404)


def test_the_list_in_us_units_for_one_who_reads_them(client):
    user = factories.make_crew()
    factories.PersonFactory(user=user, unit_system="us")
    factories.LotFactory(received=Decimal(1000))
    client.force_login(user)
    assert "2.205 lb" in client.get("/stores/").text


def test_names_with_angle_brackets_stay_text(crew):
    factories.LotFactory(number="<script>alert(1)</script>", product__name='<b>شمع</b> "O\'Neil"')
    page = crew.get("/stores/")
    assert "<script>alert" not in page.text
    assert "&lt;b&gt;شمع" in page.text


def test_the_export_gives_every_row_and_no_formula(crew):
    factories.LotFactory(number="=1+1", expires_on=date(2027, 6, 30))
    for _ in range(60):
        factories.LotFactory()
    found = list(csv.DictReader(io.StringIO(crew.get("/stores/?_export=csv").text)))
    assert len(found) == 61
    row = next(row for row in found if "1+1" in row["Lot"])
    assert (row["Lot"], row["Usable until"]) == ("'=1+1", "2027-06-30")
    assert (row["Left"], row["Unit"]) == ("1000.000", "g")


def test_the_workbook_opens(crew):
    factories.LotFactory()
    assert crew.get("/stores/?_export=xlsx").content[:2] == b"PK"


def queries(client, path: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as caught:
        assert client.get(path).status_code == 200
    return len(caught)


@pytest.mark.parametrize("path", ["/stores/", "/products/"])
def test_a_list_asks_the_database_as_often_for_few_as_for_many(crew, path):
    def more(count: int) -> None:
        for _ in range(count):
            sheet = factories.SheetRevisionFactory()
            factories.make_kit_lot(sheet.product)
            factories.LotFactory(product=sheet.product)

    more(2)
    few = queries(crew, path)
    more(20)
    assert queries(crew, path) == few <= 12


@pytest.mark.parametrize("path", ["/stores/", "/stores/receive/", "/products/", "/products/new/"])
def test_viewers_have_nothing_of_the_stores(client, path):
    client.force_login(factories.make_viewer())
    assert client.get(path).status_code == 403


def test_crew_reads_the_stores_but_does_not_receive(crew):
    assert "Receive a lot" not in crew.get("/products/").text
    assert crew.get("/stores/receive/").status_code == 403


def test_movement_lines_are_not_lost_when_the_list_is_read(crew):
    factories.LotFactory()
    crew.get("/stores/")
    assert Movement.objects.count() == 1

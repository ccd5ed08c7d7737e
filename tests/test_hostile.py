"""The hostile visitor: what is sent that no page of ours would send."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime
from typing import Any
from urllib.parse import quote

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook
from zeal import zeal_ignore

from properties.models import Defect, Member, MoistureReading, Property
from repairs.models import Inspection, Photograph, Repair
from tests import factories as make
from tests.addresses import MANAGER
from tests.test_access import as_role, visits
from tests.two_properties import all_rows, make_world

pytestmark = pytest.mark.django_db

SCRIPT = "<script>alert('1')</script>\"><img src=x onerror=alert(2)>"
ARABIC = "نافذة خشبية"
# Turns the text after it round, so that a name reads as another.
OVERRIDE = "sill\u202egnp.exe"
NOW = datetime(2026, 5, 6, 15, 0, tzinfo=UTC)
ABSURD = ("-1", "0", "abc", "9" * 20, "9" * 5000, "a\0b", "²", "٣", "1e999999", "NaN", "x" * 60_000)
NAMES = (
    "page", "per_page", "sort", "property", "_export", "first", "until", "from", "to", "paper",
    "q", "search", "find", "mark", "owner", "member", "building", "person", "place", "kind",
    "state", "show", "product", "due", "repair", "defect", "draft", "like", "elevation", "zone",
    "order", "subject", "year", "size", "next", "after", "before", "last", "round", "whose",
    "access", "name", "years", "rise", "reserve", "interest", "currency", "not_building",
    "not_elevation", "not_member", "repair_kind", "member_kind", "cause", "tax", "areas",
    "borne_by", "money_class", "to_year", "first_year", "last_year", "reason",
)  # fmt: skip
LISTS = (
    "property-list", "owner-list", "defect-list", "repair-list", "inspection-list",
    "inspection-calendar", "cost-list", "cost-line-list", "store-list", "product-list",
    "person-list", "plan-list", "member-search", "inspection-new", "lot-receive", "repair-log",
    "today", "round-list", "round-new", "rule-list", "rule-dates", "ahead-list",
    "cost-portfolio",
)  # fmt: skip


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make.make_manager())
    return client


# Addresses


@pytest.mark.parametrize("value", ABSURD, ids=lambda value: repr(value[:8]))
def test_an_absurd_query_is_answered(manager: Client, value: str) -> None:
    make.CostLineFactory(member=make.MemberFactory())
    for name in LISTS:
        for params in (dict.fromkeys(NAMES, value), {"page": value}, {"per_page": value}):
            status = manager.get(reverse(name), params).status_code
            assert status in {200, 302, 400, 404}, (name, list(params))


@pytest.mark.parametrize("value", ABSURD, ids=lambda value: repr(value[:8]))
def test_an_absurd_query_on_a_page_of_one_thing_is_answered(manager: Client, value: str) -> None:
    defect = make.DefectFactory()
    member, building = defect.member, defect.member.building
    for name, pk in (
        ("property-detail", building.property_id), ("building-detail", building.pk),
        ("history-page", building.property_id), ("cost-building", building.pk),
        ("member-new", building.pk), ("moisture-new", member.pk), ("defect-new", member.pk),
        ("cost-line-new", building.pk), ("plan-new", defect.pk),
        ("ahead-property", building.property_id), ("work-move-new", building.property_id),
        ("work-rates", building.property_id), ("cost-property", building.property_id),
    ):  # fmt: skip
        status = manager.get(reverse(name, args=[pk]), dict.fromkeys(NAMES, value)).status_code
        assert status in {200, 302, 404}, name


@pytest.mark.parametrize("number", ["-1", "abc", "9" * 20, "9" * 5000, "1%00", "../1", "1.0"])
def test_an_absurd_number_in_the_address_is_not_found(manager: Client, number: str) -> None:
    for folder in (
        "properties", "buildings", "members", "repairs", "lots", "photographs", "due", "rounds",
    ):  # fmt: skip
        assert manager.get(f"/{folder}/{number}/").status_code == 404
    assert manager.get(f"/changes/member/{number}/").status_code == 404
    assert manager.get(f"/repairs/drafts/{number}/throw-away/").status_code == 404


def test_no_more_than_a_page_of_rows_is_given(manager: Client) -> None:
    for _ in range(52):
        make.OwnerFactory()
    table = manager.get(reverse("owner-list"), {"per_page": "100000"}).context["table"]
    assert len(table.page.object_list) == 50


@pytest.mark.parametrize("ending", ["exe", "html", "json", "yaml", "xls", "../csv", ""])
def test_a_list_is_exported_as_nothing_but_csv_and_xlsx(manager: Client, ending: str) -> None:
    for name in ("property-list", "repair-list", "cost-line-list", "cost-list", "inspection-list"):
        answer = manager.get(reverse(name), {"_export": ending})
        assert answer["Content-Type"].startswith("text/html")


def test_kept_files_have_no_address_of_their_own(manager: Client) -> None:
    photograph = make.PhotographFactory()
    for path in (
        f"/media/{photograph.file.name}", "/media/../config/settings.py", "/static/../manage.py",
        f"/static/{quote('../../etc/passwd', safe='')}", "/var/makegood.sqlite3",
    ):  # fmt: skip
        assert manager.get(path).status_code == 404


@pytest.mark.parametrize("there", ["https://example.org/", "//example.org", "javascript:alert(1)"])
def test_a_log_in_leads_nowhere_else(client: Client, there: str) -> None:
    user = make.make_crew()
    answer = client.post(
        f"/log-in/?next={quote(there)}",
        {"username": user.username, "password": make.PASSWORD, "next": there},
    )
    assert answer.headers["Location"] == "/"


def test_a_foreign_host_is_refused(client: Client) -> None:
    assert client.get("/log-in/", headers={"host": "example.org"}).status_code == 400


# Who one is


def test_a_log_in_begins_a_session_of_its_own(client: Client) -> None:
    user = make.make_crew()
    planted = SessionStore()
    planted["planted"] = "x"
    planted.save()
    client.cookies["sessionid"] = str(planted.session_key)
    with zeal_ignore():
        client.post("/log-in/", {"username": user.username, "password": make.PASSWORD})
    assert client.cookies["sessionid"].value != planted.session_key
    assert not SessionStore().exists(str(planted.session_key))


def test_a_link_cannot_log_anybody_out(manager: Client) -> None:
    assert manager.get("/log-out/").status_code == 405
    assert manager.get("/").status_code == 200


def test_a_wrong_log_in_does_not_tell_whether_the_name_exists(client: Client) -> None:
    user, gone = make.make_crew(), make.make_crew(is_active=False)
    said = set()
    for name in (user.username, gone.username, "nobody-of-that-name"):
        page = client.post("/log-in/", {"username": name, "password": "wrong"}).content.decode()
        token = page.split('name="csrfmiddlewaretoken" value="')[1].split('"')[0]
        said.add(page.replace(name, "").replace(token, ""))
    assert len(said) == 1


def test_passwords_are_not_guessed_without_end(client: Client) -> None:
    user, other = make.make_crew(), make.make_crew()
    for _ in range(10):
        client.post("/log-in/", {"username": user.username, "password": "wrong"})
    right = {"username": user.username, "password": make.PASSWORD}
    page = client.post("/log-in/", right)
    assert "Too many wrong passwords. Wait 10 minutes" in page.content.decode()
    # Neither another person nor the same person elsewhere is kept out.
    sent = {"username": other.username, "password": make.PASSWORD}
    assert client.post("/log-in/", sent).status_code == 302
    elsewhere = Client(REMOTE_ADDR="192.0.2.7")
    assert elsewhere.post("/log-in/", right).status_code == 302


def test_a_form_without_its_token_is_refused() -> None:
    world = make_world()
    client = Client(enforce_csrf_checks=True)
    client.force_login(world.manager)
    before = all_rows()
    for visit in visits(world, world.given):
        status = client.post(visit.path, {"name": "Changed"}).status_code
        assert status in {403, 405}, visit.name
    assert all_rows() == before


# What goes with every answer


def test_every_answer_is_guarded_by_its_headers_and_kept_by_no_shared_cache() -> None:
    world = make_world()
    client = as_role(world, MANAGER)
    for visit in visits(world, world.given):
        answer = client.get(visit.path)
        headers = answer.headers
        kept = headers.get("Cache-Control", "")
        assert answer.status_code != 200 or "private" in kept or "no-store" in kept, visit.name
        assert headers["X-Content-Type-Options"] == "nosniff", visit.name
        assert headers["X-Frame-Options"] == "DENY", visit.name
        assert headers["Referrer-Policy"] == "same-origin", visit.name
        policy = headers["Content-Security-Policy"]
        assert "default-src 'self'" in policy, visit.name
        assert "unsafe" not in policy, visit.name


def test_a_failure_says_nothing_of_the_inside(settings: Any, manager: Client) -> None:
    settings.DEBUG = False
    page = manager.get("/properties/999999/").content.decode()
    for word in ("Traceback", "urlpatterns", "django", "/work", "get_object_or_404", "SELECT"):
        assert word not in page


# Words


def test_words_from_people_are_never_markup() -> None:
    world = make_world()
    side = world.given.rows
    make.CostLineFactory(building=side["building"], description=SCRIPT, supplier=SCRIPT)
    make.KeptRemarkFactory(repair=side["repair"], reason=SCRIPT, found=SCRIPT)
    for model, name in ((Property, "name"), (Member, "notes"), (Repair, "notes"),
                        (Defect, "notes"), (Photograph, "caption"),
                        (Inspection, "looked_by_name"), (MoistureReading, "note")):  # fmt: skip
        model._default_manager.update(**{name: SCRIPT})
    Member.objects.update(species=SCRIPT[:80], mark="<b>S'\"</b>")
    Property.objects.update(address=SCRIPT, notes=SCRIPT)
    client = as_role(world, MANAGER)
    for visit in visits(world, world.given):
        answer = client.get(visit.path)
        if answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
            page = answer.content.decode()
            for bad in ("<script>alert", "<img src=x", "<b>S"):
                assert bad not in page, visit.name


def test_names_in_any_script_are_shown_as_typed(manager: Client) -> None:
    for number, name in enumerate((ARABIC, OVERRIDE, 'O\'Larch & "Sons"')):
        building = make.BuildingFactory(name=name)
        make.MemberFactory(building=building, mark=f"M-{number}")
        page = manager.get(building.get_absolute_url())
        assert page.status_code == 200
        assert page.context["building"].name == name


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\t="])
def test_no_cell_of_a_download_is_a_formula(manager: Client, begins: str) -> None:
    evil = f"{begins}HYPERLINK(1)"
    of = make.PropertyFactory(name=evil)
    building = make.BuildingFactory(property=of, name=evil)
    member = make.MemberFactory(building=building, mark=f"{begins}1")
    make.PlanFactory(defect=make.DefectFactory(member=member))
    make.CostLineFactory(building=building, member=member, description=evil, supplier=evil)
    make.DueDateFactory(member=member, set_because=evil)
    make.RepairFactory(member=member, done_by=evil)
    for name in ("property-list", "repair-list", "cost-line-list", "cost-list", "inspection-list",
                 "defect-list", "plan-list"):  # fmt: skip
        text = manager.get(reverse(name), {"_export": "csv"}).content.decode()
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
        assert not [cell for cell in cells if cell.startswith(begins) and "1" in cell], name
        assert not formulas(manager.get(reverse(name), {"_export": "xlsx"}).content), name
    for path in (reverse("cost-building-file", args=[building.pk, "xlsx"]),
                 reverse("cost-portfolio-file", args=["xlsx"])):  # fmt: skip
        assert not formulas(manager.get(path).content), path


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\t="])
def test_no_cell_of_a_recall_is_a_formula(manager: Client, begins: str) -> None:
    evil, world = f"{begins}HYPERLINK(1)", make_world()
    type(world.lot).objects.update(number=evil, supplier=evil)
    type(world.lot.product).objects.update(name=evil, maker=evil)
    Property.objects.update(name=evil)
    Repair.objects.update(done_by=evil)
    for about in ("lot", "product"):
        args = [about, world.rows[about].pk]
        text = manager.get(reverse("recall-file", args=[*args, "csv"])).content.decode()
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
        assert not [cell for cell in cells if cell.startswith(begins) and "1" in cell], about
        assert not formulas(manager.get(reverse("recall-file", args=[*args, "xlsx"])).content)


def formulas(content: bytes) -> list[str]:
    book = load_workbook(io.BytesIO(content))
    return [
        str(cell.value)
        for sheet in book for row in sheet.iter_rows() for cell in row
        if cell.data_type == "f" and "HYPERLINK" in str(cell.value)
    ]  # fmt: skip


@pytest.mark.parametrize(
    "text", ["a\0b", "x" * 5001, "x" * 100_000], ids=["null", "5001", "100000"]
)
def test_text_that_no_column_holds_is_a_sentence_in_the_form(manager: Client, text: str) -> None:
    building = make.BuildingFactory()
    answer = manager.post(
        reverse("building-edit", args=[building.pk]),
        {"name": text, "notes": text, "year_known": "unknown"},
    )
    assert answer.status_code in {200, 302}
    if answer.status_code == 200:
        assert answer.context["form"].errors


def test_a_lone_surrogate_in_the_bytes_is_answered(manager: Client) -> None:
    building = make.BuildingFactory()
    body = b"name=Barn%ED%A0%80&notes=%FF%FE&year_known=unknown"
    path = reverse("building-edit", args=[building.pk])
    kind = "application/x-www-form-urlencoded"
    assert manager.post(path, body, content_type=kind).status_code in {200, 302}
    assert manager.get(f"{reverse('repair-list')}?search=%ED%A0%80").status_code == 200


def test_ten_thousand_fields_are_refused(manager: Client) -> None:
    body = {f"field-{number}": "x" for number in range(10_000)}
    assert manager.post(reverse("property-new"), body).status_code == 400

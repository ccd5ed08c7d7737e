"""The hostile visitor: what is sent that no page of ours would send."""

from __future__ import annotations

import csv
import io
import uuid
from datetime import UTC, datetime
from typing import Any
from urllib.parse import quote

import pytest
import time_machine
from django.contrib.sessions.backends.db import SessionStore
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook
from PIL import Image
from zeal import zeal_ignore

from materials.models import Product
from properties.models import Defect, Member, MoistureReading, Property
from repairs.models import CostLine, Draft, Inspection, Photograph, Repair
from tests import factories as make
from tests.repairs.log.form import typed
from tests.test_access import MANAGER, VIEWER, as_role, visits
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
    "order", "subject", "year", "size", "next", "after", "before", "last",
)  # fmt: skip
LISTS = (
    "property-list", "owner-list", "defect-list", "repair-list", "inspection-list",
    "inspection-calendar", "cost-list", "cost-line-list", "store-list", "product-list",
    "person-list", "member-search", "inspection-new", "lot-receive", "repair-log", "today",
)  # fmt: skip


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make.make_manager())
    return client


@pytest.fixture
def afternoon() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def kit() -> Any:
    product = make.ProductFactory(kind=Product.Kind.LAMINATING_RESIN)
    make.SheetRevisionFactory(product=product)
    return make.make_kit_lot(product)


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
        ("cost-line-new", building.pk),
    ):  # fmt: skip
        status = manager.get(reverse(name, args=[pk]), dict.fromkeys(NAMES, value)).status_code
        assert status in {200, 302, 404}, name


@pytest.mark.parametrize("number", ["-1", "abc", "9" * 20, "9" * 5000, "1%00", "../1", "1.0"])
def test_an_absurd_number_in_the_address_is_not_found(manager: Client, number: str) -> None:
    for folder in ("properties", "buildings", "members", "repairs", "lots", "photographs", "due"):
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
    make.DefectFactory(member=member)
    make.CostLineFactory(building=building, member=member, description=evil, supplier=evil)
    make.DueDateFactory(member=member, set_because=evil)
    make.RepairFactory(member=member, done_by=evil)
    for name in ("property-list", "repair-list", "cost-line-list", "cost-list", "inspection-list",
                 "defect-list"):  # fmt: skip
        text = manager.get(reverse(name), {"_export": "csv"}).content.decode()
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
        assert not [cell for cell in cells if cell.startswith(begins) and "1" in cell], name
        assert not formulas(manager.get(reverse(name), {"_export": "xlsx"}).content), name
    for path in (reverse("cost-building-file", args=[building.pk, "xlsx"]),
                 reverse("cost-portfolio-file", args=["xlsx"])):  # fmt: skip
        assert not formulas(manager.get(path).content), path


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


# The log page


@pytest.mark.usefixtures("afternoon")
@pytest.mark.parametrize("value", ["-1", "9" * 5000, "a\0b"], ids=lambda value: repr(value[:8]))
def test_no_field_of_the_log_page_can_break_it(client: Client, kit: Any, value: str) -> None:
    client.force_login(make.make_crew())
    whole = typed(make.MemberFactory(), kit)
    more = ("notes", "engineer_note", "lead_note", "next_look_on", "stage-0-thickness", "take",
            "stage-0-notes", "stage-0-batch-0-typed", "stage-0-batch-0-waste", "labour-0-hours",
            "labour-0-who", "cost-0-amount", "cost-0-description", "defect", "defects", "follows",
            "reason-too-cold", "stage-0-air", "stage-0-batch-0-lot_b", "find",
            "captions-after")  # fmt: skip
    for name in [*whole, *more]:
        if name == "act":
            continue
        for act in ("save", "draft"):
            sent = {**whole, "key": str(uuid.uuid4()), "act": act, name: value}
            assert client.post("/repairs/log/", sent).status_code in {200, 302, 404}, name


@pytest.mark.usefixtures("afternoon")
def test_blocks_far_out_of_the_page_are_answered(client: Client, kit: Any) -> None:
    client.force_login(make.make_crew())
    whole = typed(make.MemberFactory(), kit)
    far = {f"stage-{n}-batch-{n}-lot": "1" for n in (99, 999, 9999, 99999)}
    for act in ("save", "draft", "check", "remove-stage-9999", "add-batch-9999", "stage-9999"):
        sent = {**whole, **far, "key": str(uuid.uuid4()), "act": act}
        assert client.post("/repairs/log/", sent).status_code in {200, 302}


@pytest.mark.usefixtures("afternoon")
def test_a_repair_takes_nothing_of_another_member(client: Client, kit: Any) -> None:
    client.force_login(make.make_crew())
    sill, other = make.MemberFactory(), make.DefectFactory()
    earlier = make.RepairFactory(member=other.member)
    client.post("/repairs/log/", typed(
        sill, kit, defect=str(other.pk), defects=str(other.pk), relation="redo",
        follows=str(earlier.pk), entered_by="1", state="withdrawn", submission=str(uuid.uuid4()),
    ))  # fmt: skip
    for repair in Repair.objects.exclude(pk=earlier.pk):
        assert other not in repair.defects.all()
        assert repair.follows_id != earlier.pk
        assert repair.state != Repair.State.WITHDRAWN


@pytest.mark.usefixtures("afternoon")
def test_a_key_of_another_persons_draft_gives_nothing_away(client: Client, kit: Any) -> None:
    theirs = make.DraftFactory(kept=True, typed={"notes": ["Their words"]})
    client.force_login(make.make_crew())
    for act in ("draft", "check"):
        sent = {**typed(make.MemberFactory(), kit), "key": str(theirs.key), "act": act}
        assert "Their words" not in client.post("/repairs/log/", sent).content.decode()
    theirs.refresh_from_db()
    assert theirs.typed == {"notes": ["Their words"]}


# Rows of elsewhere in a form


def test_a_cost_line_takes_no_member_or_repair_of_another_building(manager: Client) -> None:
    here, there = make.BuildingFactory(), make.RepairFactory()
    body = {"kind": "labour", "amount": "10", "currency": "GBP", "worked_on": "2026-05-04",
            "borne_by": "owner", "money_class": "repair", "member": there.member_id,
            "repair": there.pk, "building": there.member.building_id}  # fmt: skip
    manager.post(reverse("cost-line-new", args=[here.pk]), body)
    assert not CostLine.objects.filter(building=there.member.building).exists()
    assert not CostLine.objects.filter(member=there.member).exists()
    shared = {**body, "rule": "equal", "members": [there.member_id], "description": "x"}
    manager.post(reverse("cost-shared-new", args=[here.pk]), shared)
    assert not CostLine.objects.exists()


def test_an_inspection_answers_no_due_date_of_another_member(manager: Client) -> None:
    member, other = make.MemberFactory(), make.DueDateFactory()
    body = {"key": str(uuid.uuid4()), "looked_on": "2026-06-04", "looked_by_name": "R",
            "occasion": "routine", "zone": "left", "due": other.pk, "result": "sound",
            "member": other.member_id}  # fmt: skip
    with time_machine.travel(datetime(2026, 6, 4, 10, tzinfo=UTC), tick=False):
        manager.post(f"{reverse('inspection-new')}?member={member.pk}", body)
    other.refresh_from_db()
    assert other.done_on is None
    assert not Inspection.objects.filter(member=other.member).exists()


def test_a_due_date_is_given_to_nobody_who_cannot_look(manager: Client) -> None:
    due = make.DueDateFactory()
    viewer = make.make_viewer(due.member.building.property)
    body = {"due_on": "2027-06-04", "reason": "x", "person": viewer.pk}
    manager.post(reverse("due-edit", args=[due.pk]), body)
    due.refresh_from_db()
    assert due.person is None


def test_a_member_is_put_on_no_elevation_of_another_building(manager: Client) -> None:
    member, other = make.MemberFactory(), make.ElevationFactory()
    body = {"mark": "X-1", "kind": "sill", "elevation": other.pk, "building": other.building_id}
    manager.post(reverse("member-edit", args=[member.pk]), body)
    manager.post(reverse("member-new", args=[member.building_id]), body)
    assert not Member.objects.filter(elevation=other).exists()
    assert not Member.objects.filter(building=other.building).exists()


def test_fields_that_a_form_does_not_show_are_not_taken(manager: Client) -> None:
    defect, user = make.DefectFactory(), make.make_crew()
    elsewhere = make.MemberFactory()
    manager.post(
        reverse("defect-edit", args=[defect.pk]),
        {"member": elsewhere.pk, "recorded_by": user.pk, "id": 1, "notes": "x", "zone": "left",
         "kind": "decay", "found_on": "2026-04-20", "state": "open", "cause": "end_grain",
         "cause_state": "put_right", "section_loss": "unknown", "structural_concern": "unknown"},
    )  # fmt: skip
    defect.refresh_from_db()
    assert defect.member != elsewhere
    manager.post(
        reverse("person-edit", args=[user.pk]),
        {"username": user.username, "first_name": "R", "last_name": "L", "is_active": "on",
         "role": "Crew", "is_superuser": "on", "is_staff": "on", "user_permissions": ["1"]},
    )  # fmt: skip
    user.refresh_from_db()
    assert not user.is_superuser
    assert not user.is_staff
    assert not user.user_permissions.exists()


# Files


def picture(**options: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), "sienna").save(out, "JPEG", **options)
    return out.getvalue()


@pytest.mark.usefixtures("afternoon")
@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("evil.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"),
        ("sill.jpg", b"<html><script>alert(1)</script></html>"),
        ("sill.jpg", b"%PDF-1.7 not a picture"),
        ("sill.jpg", b"GIF89a<script>alert(1)</script>"),
        ("sill.jpg", b""),
    ],
)
def test_a_file_that_is_no_photograph_is_not_kept(
    client: Client, kit: Any, name: str, content: bytes
) -> None:
    client.force_login(make.make_crew())
    upload = SimpleUploadedFile(name, content, content_type="image/jpeg")
    sent = typed(make.MemberFactory(), kit, act="draft", **{"photographs-after": upload})
    assert client.post("/repairs/log/", sent).status_code in {200, 302}
    assert not any(draft.photographs.exists() for draft in Draft.objects.all())


@pytest.mark.usefixtures("afternoon")
def test_what_hides_in_a_photograph_and_its_name_is_left_behind(
    client: Client, kit: Any, media_root: Any
) -> None:
    client.force_login(make.make_crew())
    hiding = (
        picture(comment=b"<script>", xmp=b"<script> GPSLatitude")
        + b"<script>alert(1)</script>PK\x03\x04"
    )
    upload = SimpleUploadedFile("../../../etc/\0cron.jpg", hiding, content_type="text/html")
    client.post("/repairs/log/", typed(
        make.MemberFactory(), kit, act="draft",
        **{"photographs-after": upload, "captions-after": f"{SCRIPT}\0"},
    ))  # fmt: skip
    held = Draft.objects.get().photographs.get()
    with held.file.open() as kept:
        content = kept.read()
    assert b"script" not in content
    name = str(held.file.name)
    assert name.startswith("photographs/")
    assert media_root in (media_root / name).resolve().parents
    assert client.get(f"/photographs/draft/{held.pk}/")["Content-Type"] == "image/jpeg"
    page = client.get(f"/repairs/log/?draft={Draft.objects.get().key}").content.decode()
    assert "<script>alert" not in page


def test_a_viewer_of_one_photograph_guesses_no_other() -> None:
    world = make_world()
    client = as_role(world, VIEWER)
    mine = world.given.rows["photograph"]
    for size in ("", "?size=small", "?size=../../x"):
        assert client.get(f"/photographs/{mine.pk}/{size}").status_code == 200
        hidden = world.hidden.rows["photograph"].pk
        assert client.get(f"/photographs/{hidden}/{size}").status_code == 404

"""The hostile visitor at the forms: rows of elsewhere, fields never shown, files that are none."""

from __future__ import annotations

import io
import uuid
from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from materials.models import Product
from properties.models import Member
from repairs.models import CostLine, Draft, Inspection, Repair
from tests import factories as make
from tests.addresses import VIEWER
from tests.repairs.log.form import typed
from tests.test_access import as_role
from tests.two_properties import make_world

pytestmark = pytest.mark.django_db

SCRIPT = "<script>alert('1')</script>"
NOW = datetime(2026, 5, 6, 15, 0, tzinfo=UTC)


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

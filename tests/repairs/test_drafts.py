"""Drafts: kept by one person, opened by nobody else, gone once saved or thrown away."""

from __future__ import annotations

import io
import uuid
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from repairs.models import Draft, Photograph, Repair
from tests.factories import (
    DraftFactory,
    DraftPhotographFactory,
    MemberFactory,
    ProductFactory,
    SheetRevisionFactory,
    make_crew,
    make_kit_lot,
)

LOG = "/repairs/log/"


@pytest.fixture
def crew(db):
    return make_crew()


@pytest.fixture
def page(client, crew):
    client.force_login(crew)
    return client


def photograph(name="sill.jpg", colour="sienna"):
    out = io.BytesIO()
    Image.new("RGB", (320, 240), colour).save(out, "JPEG")
    return SimpleUploadedFile(name, out.getvalue(), content_type="image/jpeg")


def form(key=None, **more):
    return {"key": str(key or uuid.uuid4()), "kind": "resin", "zone": "left", **more}


def complete(key, member, kit):
    return form(
        key, member=str(member.pk), finished="on", act="save",
        **{"stage-0-kind": "seal", "stage-0-on": "2026-05-06", "stage-0-batch-0-lot": str(kit.pk),
           "stage-0-batch-0-amount": "100 g + 33 g", "stage-0-batch-0-mixed": "10:00"},
    )  # fmt: skip


@pytest.fixture
def kit(db):
    product = ProductFactory()
    SheetRevisionFactory(product=product)
    return make_kit_lot(product)


def test_a_draft_keeps_what_was_typed_and_books_nothing(page, crew):
    member = MemberFactory()
    answer = page.post(LOG, form(act="draft", member=str(member.pk), notes='Wet, "soft" <left>'))
    draft = Draft.objects.get(user=crew, kept=True)
    assert answer.url == draft.get_absolute_url()
    assert draft.member == member
    shown = page.get(draft.get_absolute_url()).context["page"]
    assert shown.repair.data["notes"] == 'Wet, "soft" <left>'
    assert shown.member == member
    assert not Repair.objects.exists()


def test_a_draft_is_kept_though_a_photograph_is_refused_and_the_page_says_so(page, crew):
    bad = SimpleUploadedFile("sill.jpg", b"not a picture", content_type="image/jpeg")
    files = {"photographs-before": photograph(), "photographs-after": bad}
    words = page.post(LOG, form(act="draft", notes="Wet", **files)).text
    draft = Draft.objects.get(user=crew, kept=True)
    assert draft.photographs.count() == 1
    assert "The draft is kept, but not every photograph." in words
    assert "Nothing is saved yet" not in words


def test_a_null_character_in_a_draft_or_a_search_breaks_nothing(page):
    page.post(LOG, form(act="draft", notes="a\x00b"))
    assert Draft.objects.get().typed["notes"] == ["ab"]
    assert page.get("/repairs/log/members/", {"find": "a\x00b"}).status_code == 200


def test_a_draft_is_opened_by_its_own_person_only(client, crew):
    draft = DraftFactory(user=crew, kept=True)
    client.force_login(make_crew())
    assert client.get(draft.get_absolute_url()).status_code == 404
    assert client.post(f"/repairs/drafts/{draft.key}/throw-away/").status_code == 404


def test_a_key_that_is_no_key_opens_nothing(page):
    assert page.get(f"{LOG}?draft=nonsense").status_code == 404
    assert page.post(LOG, {"key": "nonsense"}).status_code == 404


def test_somebody_elses_key_takes_no_photographs(page):
    draft = DraftFactory()
    answer = page.post(LOG, form(draft.key, **{"photographs-after": photograph(), "act": "save"}))
    assert answer.status_code == 403
    assert not draft.photographs.exists()


def test_photographs_of_a_rejected_save_wait_for_the_next_one(page, crew):
    key = uuid.uuid4()
    upload = {"photographs-before": photograph(), "captions-before": "As found"}
    answer = page.post(LOG, form(key, act="save", **upload))
    held = Draft.objects.get(key=key).photographs.get()
    assert (held.caption, held.moment) == ("As found", "before")
    assert f"/photographs/draft/{held.pk}/" in answer.content.decode()
    assert not Draft.objects.get(key=key).kept


def test_the_same_photograph_sent_again_is_held_once(page):
    key = uuid.uuid4()
    for _ in range(2):
        page.post(LOG, form(key, act="save", **{"photographs-after": photograph()}))
    assert Draft.objects.get(key=key).photographs.count() == 1


def test_two_photographs_of_one_moment_have_their_own_captions(page):
    key = uuid.uuid4()
    two = [photograph("a.jpg"), photograph("b.jpg", "teal")]
    page.post(
        LOG,
        form(key, act="add-stage", **{"photographs-after": two, "captions-after": ["One", "Two"]}),
    )
    captions = [held.caption for held in Draft.objects.get(key=key).photographs.all()]
    assert captions == ["One", "Two"]


def test_a_photograph_that_cannot_be_read_is_said_and_the_others_are_kept(page):
    key = uuid.uuid4()
    text = SimpleUploadedFile("notes.jpg", b"just words", content_type="image/jpeg")
    answer = page.post(
        LOG, form(key, act="save", notes="kept", **{"photographs-after": [text, photograph()]})
    )
    words = answer.content.decode()
    assert "“notes.jpg” is not a photograph that can be read" in words
    assert "kept" in words
    assert Draft.objects.get(key=key).photographs.count() == 1


def test_a_photograph_is_named_anew_or_left_out(page, crew):
    draft = DraftFactory(user=crew)
    first, second = DraftPhotographFactory.create_batch(2, draft=draft)
    storage, name = second.file.storage, second.file.name
    page.post(LOG, form(draft.key, act="add-stage", **{
        f"photograph-{first.pk}-caption": "Cut back", f"photograph-{first.pk}-moment": "during",
        f"photograph-{second.pk}-caption": "", f"photograph-{second.pk}-out": "1",
    }))  # fmt: skip
    held = draft.photographs.get()
    assert (held.caption, held.moment) == ("Cut back", "during")
    assert storage.exists(held.file.name)
    assert second.pk != held.pk
    assert name != held.file.name


def test_on_saving_the_photographs_are_the_repairs_and_the_draft_is_gone(page, kit):
    key, member = uuid.uuid4(), MemberFactory()
    saved = complete(key, member, kit)
    answer = page.post(LOG, {**saved, "photographs-after": photograph()})
    assert answer.status_code == 302
    kept = Photograph.objects.get()
    assert (kept.repair.member, kept.member) == (member, member)
    assert kept.file.storage.exists(kept.file.name)
    assert not Draft.objects.exists()


def test_thrown_away_it_is_gone_with_its_files(page, crew, django_capture_on_commit_callbacks):
    held = DraftPhotographFactory(draft__user=crew)
    storage, name = held.file.storage, held.file.name
    with django_capture_on_commit_callbacks(execute=True):
        page.post(f"/repairs/drafts/{held.draft.key}/throw-away/")
    assert not Draft.objects.exists()
    assert not storage.exists(name)


def test_the_list_shows_the_persons_own_kept_drafts(page, crew, django_assert_max_num_queries):
    member = MemberFactory(mark="N-SILL-09")
    DraftFactory.create_batch(12, user=crew, kept=True, member=member)
    DraftFactory(user=crew, kept=True)
    DraftFactory(user=crew, member=MemberFactory(mark="NOT-KEPT"))
    DraftFactory(kept=True, member=MemberFactory(mark="NOT-MINE"))
    with django_assert_max_num_queries(12):
        words = page.get("/repairs/drafts/").content.decode()
    assert words.count("N-SILL-09") == 12
    assert "Member not chosen yet" in words
    assert "NOT-" not in words


def test_a_draft_is_dated_by_the_clock_of_its_property_or_of_the_installation(page, crew, settings):
    settings.TIME_ZONE = "Asia/Tokyo"
    york = MemberFactory(building__property__time_zone="America/New_York")
    with time_machine.travel(datetime(2026, 5, 6, 1, 0, tzinfo=UTC), tick=False):
        DraftFactory(user=crew, kept=True, member=york)
        DraftFactory(user=crew, kept=True)
    words = page.get("/repairs/drafts/").text
    assert words.count("5 May 2026, 21:00") == words.count("6 May 2026, 10:00") == 2
    words = page.get("/").text
    assert "Kept 5 May 2026" in words
    assert "Kept 6 May 2026" in words


def test_an_empty_list_says_how_to_begin(page):
    assert "Keep as a draft" in page.get("/repairs/drafts/").content.decode()


def test_it_is_thrown_away_by_a_button_only(page, crew):
    draft = DraftFactory(user=crew)
    assert page.get(f"/repairs/drafts/{draft.key}/throw-away/").status_code == 405


def test_what_was_never_kept_is_forgotten_after_a_week(page, crew):
    with time_machine.travel(datetime.now(UTC) - timedelta(days=8)):
        DraftPhotographFactory(draft__user=crew)
        kept = DraftFactory(user=crew, kept=True)
    page.post(LOG, form(act="add-stage"))
    assert list(Draft.objects.all()) == [kept]

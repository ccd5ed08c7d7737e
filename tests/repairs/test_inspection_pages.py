"""Recording one look, and reading it."""

import io
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from properties.models import Defect
from repairs.models import Draft, DueDate, Inspection, Photograph, Repair
from tests import factories as make
from tests.repairs.looking import NOW, TODAY, address, due_look, typed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]


@pytest.fixture
def now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def crew(client: Client) -> Client:
    client.force_login(make.make_crew(first_name="Robin", last_name="Larch"))
    return client


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make.make_manager(first_name="Ash", last_name="Rowan"))
    return client


def jpeg(name: str = "sill.jpg") -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "sienna").save(out, "JPEG")
    return SimpleUploadedFile(name, out.getvalue(), content_type="image/jpeg")


# Recording


def test_a_look_answers_its_due_date_and_sets_the_next(crew: Client) -> None:
    due = due_look()
    answer = crew.post(address(due=due.pk), typed(due, flaking="2.5", cracking="na"), follow=True)
    look = Inspection.objects.get()
    due.refresh_from_db()
    assert (due.done_on, look.due) == (TODAY, due)
    assert (look.flaking, look.cracking) == (Decimal("2.5"), None)
    assert look.not_applicable == ["cracking"]
    assert DueDate.objects.outstanding().get().due_on == date(2026, 11, 4)
    assert "Next look on 4 November 2026" in answer.content.decode()


def test_the_form_shows_the_last_ratings_beside_the_new(crew: Client) -> None:
    due = due_look()
    make.InspectionFactory(
        member=due.member, repair=due.repair, looked_on=date(2026, 5, 20), flaking=Decimal(2)
    )
    page = crew.get(address(due=due.pk)).content.decode()
    assert "20 May 2026: 2, slight" in page


def test_the_form_says_what_follows_from_each_result(crew: Client) -> None:
    page = crew.get(address(due=due_look().pk)).content.decode()
    assert "next on 4 November 2026" in page
    assert "next on 4 August 2026, at half the usual interval" in page
    assert "the date stays 4 June 2026" in page


def test_not_recorded_not_applicable_and_nought_are_three_things(crew: Client) -> None:
    due = due_look()
    crew.post(address(due=due.pk), typed(due, flaking="0", chalking="na"))
    page = crew.get(Inspection.objects.get().get_absolute_url()).content.decode()
    assert "0, none" in page
    assert "Not applicable" in page
    assert page.count("Not recorded") > 3


def test_a_moisture_reading_is_kept_raw_and_corrected(crew: Client) -> None:
    """15 % at 10 °C: 0.125 % per °C below 20 °C (VTT Publications 420) gives 16.3 %."""
    due = due_look()
    crew.post(
        address(due=due.pk), typed(due, moisture_pct="15", wood_c="10", meter="pin", treated="no")
    )
    reading = Inspection.objects.get().moisture.get()
    assert (reading.raw_pct, reading.corrected_pct) == (Decimal(15), Decimal("16.3"))
    assert "VTT" in reading.correction


def test_redo_opens_a_defect_and_fails_the_repair(crew: Client) -> None:
    due = due_look()
    crew.post(
        address(due=due.pk),
        typed(due, result="redo", defect_kind="failed_repair", defect_cause="gutter",
              defect_cause_state="not_yet", urgency="UC2"),
    )  # fmt: skip
    defect = Defect.objects.get()
    assert (defect.kind, defect.cause, defect.urgency) == ("failed_repair", "gutter", "UC2")
    assert Inspection.objects.get().opened_defect == defect
    assert Repair.objects.get().state == Repair.State.FAILED
    assert not DueDate.objects.outstanding().exists()


def test_redo_asks_what_is_wrong(crew: Client) -> None:
    due = due_look()
    page = crew.post(address(due=due.pk), typed(due, result="redo"))
    assert "defect_kind" in page.context["form"].errors
    assert not Inspection.objects.exists()


def test_what_could_not_be_reached_keeps_the_date(crew: Client) -> None:
    due = due_look(due_on=date(2026, 5, 1))
    crew.post(address(due=due.pk), typed(due, result="not_reached"))
    assert DueDate.objects.overdue(TODAY).get() == due
    page = crew.get(due.get_absolute_url()).content.decode()
    assert "Could not be reached" in page
    assert "Record this look" in page


def test_a_person_moves_the_next_look_with_a_reason(crew: Client) -> None:
    due = due_look()
    refused = crew.post(address(due=due.pk), typed(due, next_on="2026-09-01"))
    assert "next_reason" in refused.context["form"].errors
    crew.post(
        address(due=due.pk), typed(due, next_on="2026-09-01", next_reason="scaffold stands then")
    )
    following = DueDate.objects.outstanding().get()
    assert following.due_on == date(2026, 9, 1)
    assert "scaffold stands then" in following.set_because


def test_the_second_of_two_people_is_told_and_keeps_an_extra_look(crew: Client) -> None:
    due = due_look()
    mine = typed(due, notes="Edge tight all round")
    crew.get(address(due=due.pk))
    theirs = make.InspectionFactory(member=due.member, repair=due.repair, due=due)
    due.answer(TODAY)
    told = crew.post(address(due=due.pk), mine)
    page = told.content.decode()
    assert "Already recorded" in page
    assert theirs.get_absolute_url() in page
    assert "Edge tight all round" in page
    crew.post(address(due=due.pk), {**mine, "keep_as_extra": "1"})
    assert Inspection.objects.get(notes="Edge tight all round").due is None


def test_one_form_sent_twice_makes_one_look(crew: Client) -> None:
    due = due_look()
    once = typed(due)
    first = crew.post(address(due=due.pk), once)
    second = crew.post(address(due=due.pk), once)
    assert first.url == second.url  # type: ignore[attr-defined]
    assert Inspection.objects.count() == 1
    assert DueDate.objects.outstanding().count() == 1


@pytest.mark.parametrize(
    ("day", "said"),
    [
        ("2026-06-05", "still to come"),
        ("2225-06-04", "more than 60 years ahead"),
        ("1825-06-04", "Check the year"),
        ("2026-05-01", "The repair was made on 4 May 2026"),
        ("soon", "Type the day like"),
        ("", "Still empty"),
    ],
)
def test_a_day_that_cannot_be_is_refused_in_words(crew: Client, day: str, said: str) -> None:
    due = due_look()
    page = crew.post(address(due=due.pk), typed(due, looked_on=day, notes="kept as typed"))
    assert said in str(page.context["form"].errors["looked_on"])
    assert "kept as typed" in page.content.decode()
    assert not Inspection.objects.exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("flaking", "6"), ("flaking", "2.3"), ("cross_cut", "1.5"), ("moisture_pct", "-1"),
        ("moisture_pct", "201"), ("wood_c", "99"), ("wood_c", "3 kg"), ("result", ""),
        ("result", "fine"), ("zone", "top"), ("notes", "x" * 5001), ("looked_by", "999999"),
    ],
)  # fmt: skip
def test_a_value_out_of_range_is_refused_beside_its_field(
    crew: Client, field: str, value: str
) -> None:
    due = due_look()
    page = crew.post(address(due=due.pk), typed(due, **{"moisture_pct": "15", field: value}))
    assert field in page.context["form"].errors
    assert not Inspection.objects.exists()


@pytest.mark.parametrize("shown", ["201", "-1", "18.55", "wet"])
def test_a_meter_that_cannot_show_that_is_told_what_to_type(crew: Client, shown: str) -> None:
    due = due_look()
    page = crew.post(address(due=due.pk), typed(due, moisture_pct=shown))
    assert "a figure from 0 to 200, such as 18.5" in page.content.decode()


def test_photographs_survive_a_rejected_save(crew: Client, media_root: Any) -> None:
    due = due_look()
    first = typed(due, result="", photographs=[jpeg()], caption="Left end")
    page = crew.post(address(due=due.pk), first).content.decode()
    held = Draft.objects.get().photographs.get()
    assert reverse("draft-photograph-file", args=[held.pk]) in page
    crew.post(
        address(due=due.pk),
        {**typed(due), "key": first["key"], f"caption-{held.pk}": "Left end, from below"},
    )
    photograph = Photograph.objects.get()
    assert photograph.caption == "Left end, from below"
    assert photograph.inspection == Inspection.objects.get()
    assert photograph.file.size > 0
    assert not Draft.objects.exists()


def test_a_text_file_named_jpg_is_refused_and_the_good_photograph_kept(
    crew: Client, media_root: Any
) -> None:
    due = due_look()
    bad = SimpleUploadedFile("notes.jpg", b"these are words", content_type="image/jpeg")
    page = crew.post(address(due=due.pk), typed(due, photographs=[jpeg(), bad]))
    assert "not a photograph that can be read" in str(page.context["form"].errors["photographs"])
    assert Draft.objects.get().photographs.count() == 1
    assert not Inspection.objects.exists()


def test_a_held_photograph_can_be_left_out(crew: Client, media_root: Any) -> None:
    due = due_look()
    first = typed(due, result="", photographs=[jpeg()])
    crew.post(address(due=due.pk), first)
    held = Draft.objects.get().photographs.get()
    crew.post(address(due=due.pk), {**typed(due), "key": first["key"], f"leave-out-{held.pk}": "1"})
    assert Inspection.objects.exists()
    assert not Photograph.objects.exists()


def test_a_look_begins_at_a_member_too(crew: Client) -> None:
    member = make.MemberFactory(mark="E-POST-01")
    found = crew.get(reverse("inspection-new"), {"q": "e-post"}).content.decode()
    assert f"?member={member.pk}" in found
    crew.post(address(member=member.pk), typed(occasion="routine", zone="whole"))
    assert Inspection.objects.get().member == member


def test_names_with_brackets_and_arabic_are_shown_as_typed(crew: Client) -> None:
    due = due_look()
    crew.post(address(due=due.pk), typed(due, looked_by_name='سالم <b>&"O\'Ash"'))
    page = crew.get(Inspection.objects.get().get_absolute_url()).content.decode()
    assert "سالم &lt;b&gt;&amp;" in page


# Who may


def test_a_viewer_reads_looks_of_own_properties_only(client: Client) -> None:
    mine, other = make.InspectionFactory(), make.InspectionFactory()
    client.force_login(make.make_viewer(mine.member.building.property))
    assert client.get(mine.get_absolute_url()).status_code == 200
    assert client.get(other.get_absolute_url()).status_code == 404
    assert client.get(address(member=mine.member.pk)).status_code == 403
    page = client.get(reverse("inspection-list"), {"state": "done"}).content.decode()
    assert mine.member.mark in page
    assert other.member.mark not in page


def test_crew_may_look_but_not_move_dates(crew: Client) -> None:
    due = due_look()
    assert crew.get(reverse("due-edit", args=[due.pk])).status_code == 403
    assert crew.get(reverse("due-new", args=[due.member.pk])).status_code == 403
    assert crew.get(due.get_absolute_url()).status_code == 200


def test_the_ratings_of_the_last_look_are_taken_over_by_one_tap(crew: Client) -> None:
    due = due_look()
    assert "Ratings as on" not in crew.get(address(due=due.pk)).content.decode()
    make.InspectionFactory(
        member=due.member, repair=due.repair, looked_on=date(2026, 5, 4), flaking=Decimal("2.5"),
        cracking=Decimal(0), not_applicable=["chalking"], result="watch",
    )  # fmt: skip
    page = crew.get(address(due=due.pk))
    assert "Ratings as on 4 May 2026" in page.content.decode()
    assert page.context["form"]["flaking"].value() in ("", None)
    form = crew.get(address(due=due.pk, as_last=1)).context["form"]
    assert [form[name].value() for name in ("flaking", "cracking", "chalking")] == [
        "2.5",
        "0",
        "na",
    ]
    # How it stands is what the look is for: nobody says it beforehand.
    assert not form["result"].value()

"""Walking a round: one look after the other, as before in one tap, and all that comes between."""

import io
import uuid
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from properties.models import MoistureReading
from repairs.models import Draft, DueDate, Inspection, Photograph, Repair, RoundStop
from repairs.models.due_dates import DueKind
from repairs.replace_member import take_out
from tests import factories as make
from tests.repairs.walking import NOW, TODAY, face, look, look_due, mill, round_of, stop_url

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]


@pytest.fixture
def now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def robin() -> Any:
    return make.make_crew(first_name="Robin", last_name="Larch")


@pytest.fixture
def crew(client: Client, robin: Any) -> Client:
    client.force_login(robin)
    return client


@pytest.fixture
def stops() -> list[RoundStop]:
    """Three sills to walk along."""
    side = face(mill(), "South", 180, "tower")
    return list(round_of(*(look_due(side, f"S-SILL-0{n}") for n in (1, 2, 3))).stops.all())


def text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


def last_year(stop: RoundStop, **facts: Any) -> Inspection:
    facts = {"looked_on": date(2026, 5, 4), "flaking": Decimal(1), "cracking": Decimal(0), **facts}
    made: Inspection = make.InspectionFactory(member=stop.due.member, **facts)
    return made


def tap_as_before(client: Client, stop: RoundStop, **sent: Any) -> Any:
    body = {"act": "as-before", "key": str(uuid.uuid4()), **sent}
    return client.post(stop_url(stop), body)


# One after the other


def test_a_walk_leads_from_stop_to_stop_and_back_to_the_round(
    crew: Client, stops: list[RoundStop]
) -> None:
    first, second, third = stops
    walk = reverse("round-walk", args=[first.round_id])
    assert crew.get(walk).headers["Location"] == stop_url(first)
    page = text(crew.get(stop_url(first)))
    assert "1 of 3. Sill of Granary, South, facing south, tower" in page
    assert "Save and go to the next: S-SILL-02 (2 of 3)" in page
    assert crew.post(stop_url(first), look()).headers["Location"] == stop_url(second)
    assert "Back to S-SILL-01" in text(crew.get(stop_url(second)))
    crew.post(stop_url(second), look(result="watch", flaking="2.5", notes="Edge lifts"))
    last = crew.post(stop_url(third), look())
    assert last.headers["Location"] == first.round.get_absolute_url()
    assert crew.get(walk).headers["Location"] == first.round.get_absolute_url()
    second.refresh_from_db()
    assert second.inspection is not None
    assert (second.inspection.due, second.inspection.flaking) == (second.due, Decimal("2.5"))
    assert not DueDate.objects.filter(pk__in=[s.due_id for s in stops], done_on=None).exists()


def test_stopping_half_way_keeps_what_was_done(crew: Client, stops: list[RoundStop]) -> None:
    crew.post(stop_url(stops[0]), look())
    round = stops[0].round
    assert list(round.stops.to_do()) == stops[1:]
    assert "1 of 3 looked at; next: S-SILL-02 on South, tower" in text(
        crew.get(round.get_absolute_url())
    )
    assert crew.get(reverse("round-walk", args=[round.pk])).headers["Location"] == stop_url(
        stops[1]
    )
    assert stops[1].due.is_outstanding()


def test_behind_the_last_stop_it_goes_on_at_those_passed_by(
    crew: Client, stops: list[RoundStop]
) -> None:
    first, _, third = stops
    assert "Later; first S-SILL-02" in text(crew.get(stop_url(first)))
    assert crew.post(stop_url(third), look()).headers["Location"] == stop_url(first)


def test_what_was_not_reached_can_be_looked_at_after_all(
    crew: Client, stops: list[RoundStop]
) -> None:
    due, round = stops[0].due, stops[0].round
    saved = crew.post(stop_url(stops[0]), look(result="not_reached"), follow=True)
    assert f"could not be reached. Its date stays {due.due_on:%-d %B %Y}." in text(saved)
    again = f"/inspections/new/?due={due.pk}"
    assert f'href="{again}">Look at {due.member.mark} after all' in text(
        crew.get(stop_url(stops[0]))
    )
    crew.post(again, look(due=due.pk))
    page = text(crew.get(stop_url(stops[0])))
    assert "Sound, 3 May 2027, Robin Larch; apart from this round" in page
    assert f"Look at {due.member.mark} again" in page
    assert "1 of 3 looked at; next:" in text(crew.get(round.get_absolute_url()))
    assert "1 of 3" in text(crew.get("/rounds/"))


def test_after_each_look_it_is_said_what_follows(crew: Client, stops: list[RoundStop]) -> None:
    first, second, _ = stops
    sound = crew.post(stop_url(first), look(), follow=True)
    assert "Saved: S-SILL-01, sound. No next look is planned." in text(sound)
    again = {"result": "redo", "defect_kind": "decay", "defect_cause": "unknown"}
    redone = crew.post(stop_url(second), look(**again), follow=True)
    assert "Saved: S-SILL-02, redo. A defect is opened." in text(redone)


def test_whose_round_it_is_stands_at_its_stops_for_anybody_else(
    crew: Client, stops: list[RoundStop]
) -> None:
    words = "Kim Elm is to walk this round."
    assert words not in text(crew.get(stop_url(stops[0])))
    round = stops[0].round
    round.person = make.make_crew(first_name="Kim", last_name="Elm")
    round.save()
    assert words in text(crew.get(stop_url(stops[0])))
    client = Client()
    client.force_login(round.person)
    assert words not in text(client.get(stop_url(stops[0])))


def test_what_was_not_reached_is_over_for_this_round_and_stays_due(
    crew: Client, stops: list[RoundStop]
) -> None:
    crew.post(stop_url(stops[0]), look(result="not_reached", notes="Nest"))
    stops[0].refresh_from_db()
    assert stops[0].inspection is not None
    assert not stops[0].is_to_do()
    assert stops[0].due.is_outstanding()
    assert "1 could not be reached" in text(crew.get(stops[0].round.get_absolute_url()))


def test_a_stop_looked_at_says_who_and_when_and_leads_on(
    crew: Client, stops: list[RoundStop], robin: Any
) -> None:
    crew.post(stop_url(stops[0]), look(looked_by=robin.pk))
    page = text(crew.get(stop_url(stops[0])))
    assert "Sound, 3 May 2027, Robin Larch" in page
    assert "Next: S-SILL-02 (2 of 3)" in page
    assert "How it stands now" not in page


def test_redo_opens_a_defect_and_the_walk_goes_on(crew: Client, stops: list[RoundStop]) -> None:
    refused = crew.post(stop_url(stops[0]), look(result="redo", notes="Soft at the left"))
    assert "defect_kind" in refused.context["form"].errors
    assert "Soft at the left" in text(refused)
    crew.post(stop_url(stops[0]), look(result="redo", defect_kind="decay"))
    assert stops[0].due.member.defects.get().kind == "decay"


def test_the_page_of_a_stop_takes_no_more_queries_on_a_long_round(
    crew: Client, stops: list[RoundStop]
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            assert crew.get(stop_url(stops[0])).status_code == 200
        return len(found)

    few = queries()
    side = stops[0].due.member.elevation
    for n in range(20):
        make.RoundStopFactory(round=stops[0].round, due=look_due(side, f"X-{n}"), position=9 + n)
    assert queries() == few


# The last look beside the new one


def test_the_last_ratings_and_photograph_stand_beside_the_new(
    crew: Client, stops: list[RoundStop], media_root: Any
) -> None:
    last = last_year(stops[0], flaking=Decimal("2.5"), chalking=Decimal(3), notes="Gutter drips")
    photograph = make.PhotographFactory(
        member=last.member, inspection=last, repair=None, caption="Left end"
    )
    answer = crew.get(stop_url(stops[0]))
    page = text(answer)
    assert "Last look on 4 May 2026: sound, by Robin Larch" in page
    assert "Gutter drips" in page
    assert f'src="{photograph.get_absolute_url()}?size=small"' in page
    assert "last 2.5, between slight and moderate" in page
    rows = {row.field.name: row for row in answer.context["ratings"]}
    assert [button.value for button in rows["flaking"].others if button.was_last] == ["2.5"]
    assert [button.value for button in rows["chalking"].whole if button.was_last] == ["3"]
    assert [button.value for button in rows["flaking"].whole] == ["0", "1", "2", "3", "4", "5"]
    assert not any(button.chosen for row in rows.values() for button in row.whole)


def test_every_field_of_a_look_stands_on_the_page_once(
    crew: Client, stops: list[RoundStop]
) -> None:
    """Whatever is asked of a look one day is asked here too."""
    repair = make.RepairFactory(member=stops[0].due.member)
    stops[0].due.repair = repair
    stops[0].due.save()
    answer = crew.get(stop_url(stops[0]))
    page = text(answer)
    for name, field in answer.context["form"].fields.items():
        if name == "due":
            assert 'name="due"' not in page
            continue
        choices = len(list(getattr(field, "choices", [])))
        radios = page.count(f'<input type="radio" name="{name}"')
        found = page.count(f' name="{name}"')
        # The key stands in each of the two forms, where one of them repeats the last look.
        assert found == radios == choices if radios else found >= 1, name


# As before


def test_as_before_records_the_last_look_again_in_one_tap(
    crew: Client, stops: list[RoundStop], robin: Any
) -> None:
    stop = stops[0]
    reading = make.MoistureReadingFactory(member=stop.due.member)
    last = last_year(stop, not_applicable=["chalking"], condition="CC1", urgency="UC1",
                     result="watch", notes="Gutter drips", flaking_size="S2")  # fmt: skip
    last.moisture.add(reading)
    make.PhotographFactory(member=last.member, inspection=last, repair=None)
    page = text(crew.get(stop_url(stop)))
    assert "As before: watch – flaking 1, cracking 0, chalking not applicable" in page
    assert tap_as_before(crew, stop).headers["Location"] == stop_url(stops[1])
    made = Inspection.objects.exclude(pk=last.pk).get()
    for name in ("flaking", "cracking", "blistering", "not_applicable", "condition", "urgency",
                 "result", "flaking_size", "edge"):  # fmt: skip
        assert getattr(made, name) == getattr(last, name), name
    assert (made.looked_on, made.looked_by, made.due) == (TODAY, robin, stop.due)
    assert made.notes == "As before: nothing has changed since the look of 4 May 2026."
    assert not made.moisture.exists()
    assert not made.photographs.exists()
    assert MoistureReading.objects.count() == Photograph.objects.count() == 1
    stop.refresh_from_db()
    assert stop.inspection == made


def test_two_taps_make_one_look(crew: Client, stops: list[RoundStop]) -> None:
    last_year(stops[0])
    key = str(uuid.uuid4())
    tap_as_before(crew, stops[0], key=key)
    again = tap_as_before(crew, stops[0], key=key)
    assert again.headers["Location"] == stop_url(stops[1])
    assert Inspection.objects.filter(due=stops[0].due).count() == 1


def offers_as_before(client: Client, stop: RoundStop) -> bool:
    return "As before:" in text(client.get(stop_url(stop)))


def test_as_before_is_offered_only_where_it_can_be_said(
    crew: Client, stops: list[RoundStop]
) -> None:
    fresh, redo, missed = stops
    assert not offers_as_before(crew, fresh)
    opened = make.DefectFactory(member=redo.due.member)
    last_year(redo, result="redo", opened_defect=opened)
    last_year(missed, result="not_reached")
    for stop in stops:
        assert not offers_as_before(crew, stop)
        tap_as_before(crew, stop)
    assert not Inspection.objects.filter(due__isnull=False).exists()


def test_as_before_is_not_offered_when_there_was_work_since(
    crew: Client, stops: list[RoundStop]
) -> None:
    last_year(stops[0])
    assert offers_as_before(crew, stops[0])
    repair = make.RepairFactory(member=stops[0].due.member, began_at=NOW - timedelta(days=30))
    assert not offers_as_before(crew, stops[0])
    repair.state = Repair.State.WITHDRAWN
    repair.save()
    assert offers_as_before(crew, stops[0])


def test_as_before_speaks_of_the_same_thing_only(crew: Client, stops: list[RoundStop]) -> None:
    repair = make.RepairFactory(member=stops[0].due.member)
    last_year(stops[0], repair=repair, looked_on=date(2026, 8, 1))
    assert not offers_as_before(crew, stops[0])
    stops[0].due.repair, stops[0].due.kind = repair, DueKind.REPAIR_LOOK
    stops[0].due.save()
    assert offers_as_before(crew, stops[0])


# Two people, and what changed on the way


def test_the_second_of_two_people_is_told_and_goes_on(crew: Client, stops: list[RoundStop]) -> None:
    kim = make.make_crew(first_name="Kim", last_name="Elm")
    other = Client()
    other.force_login(kim)
    crew.get(stop_url(stops[0]))
    other.post(stop_url(stops[0]), look(looked_by=kim.pk, looked_by_name=""))
    told = crew.post(stop_url(stops[0]), look(notes="Edge tight all round"))
    page = text(told)
    assert "Kim Elm recorded this look: sound, 3 May 2027" in page
    assert "Edge tight all round" in page
    assert "Go on to S-SILL-02" in page
    assert Inspection.objects.count() == 1
    assert crew.post(stop_url(stops[1]), look()).headers["Location"] == stop_url(stops[2])


def test_the_second_look_can_be_kept_beside_the_first(crew: Client, stops: list[RoundStop]) -> None:
    theirs = make.InspectionFactory(member=stops[0].due.member, due=stops[0].due)
    stops[0].due.answer(TODAY)
    mine = look(notes="Edge tight all round")
    assert "Keep mine as an extra look" in text(crew.post(stop_url(stops[0]), mine))
    crew.post(stop_url(stops[0]), {**mine, "keep_apart": "1"})
    assert Inspection.objects.get(notes="Edge tight all round").due is None
    page = text(crew.get(stop_url(stops[0])))
    assert theirs.get_absolute_url() in page
    assert "apart from this round" in page


def test_as_before_after_somebody_quicker_shows_their_look(
    crew: Client, stops: list[RoundStop]
) -> None:
    last_year(stops[0])
    make.InspectionFactory(
        member=stops[0].due.member, due=stops[0].due, looked_by_name="Kim Elm",
        looked_on=date(2026, 4, 1),
    )  # fmt: skip
    stops[0].due.answer(TODAY)
    answer = crew.post(
        stop_url(stops[0]), {"act": "as-before", "key": str(uuid.uuid4())}, follow=True
    )
    assert "Somebody was quicker" in text(answer)
    assert "Kim Elm" in text(answer)
    assert Inspection.objects.count() == 2


def test_one_form_sent_twice_makes_one_look(crew: Client, stops: list[RoundStop]) -> None:
    once = look()
    crew.post(stop_url(stops[0]), once)
    again = crew.post(stop_url(stops[0]), once)
    assert again.headers["Location"] == stop_url(stops[1])
    elsewhere = crew.post(stop_url(stops[1]), once)
    assert elsewhere.status_code == 302
    assert Inspection.objects.count() == 1
    assert stops[1].round.stops.to_do().count() == 2


def test_a_look_at_a_round_that_has_ended_is_kept_apart(
    crew: Client, stops: list[RoundStop]
) -> None:
    stop = stops[0]
    stop.round.ended_on, stop.round.ended_because = TODAY, "Rain"
    stop.round.save()
    page = text(crew.get(stop_url(stop)))
    assert "This round was ended on 3 May 2027: Rain" in page
    mine = look(notes="Edge tight")
    told = text(crew.post(stop_url(stop), mine))
    assert "Keep this look apart from the round" in told
    assert "Edge tight" in told
    assert "Go on to" not in told
    crew.post(stop_url(stop), {**mine, "keep_apart": "1"})
    kept = Inspection.objects.get()
    stop.refresh_from_db()
    assert (kept.due, stop.inspection) == (stop.due, None)
    assert not stop.due.is_outstanding()
    walk = crew.get(reverse("round-walk", args=[stop.round_id]))
    assert walk.headers["Location"] == stop.round.get_absolute_url()


def sell(stop: RoundStop, on: date) -> None:
    of = stop.due.member.building.property
    of.given_up_on, of.given_up_reason = on, "sold"
    of.save()


def test_a_sold_property_takes_only_looks_from_before(crew: Client, stops: list[RoundStop]) -> None:
    last_year(stops[0])
    sell(stops[0], date(2027, 5, 2))
    page = text(crew.get(stop_url(stops[0])))
    assert "Mill Row is no longer looked after since 2 May 2027." in page
    assert "As before:" not in page
    refused = crew.post(stop_url(stops[0]), look(notes="Edge tight"))
    assert "2027. Type the day of the look" in str(refused.context["form"].errors["looked_on"])
    assert "Edge tight" in text(refused)
    crew.post(stop_url(stops[0]), look(looked_on="2027-05-01"))
    stops[0].refresh_from_db()
    assert stops[0].inspection is not None


def test_a_replaced_member_is_told_and_a_look_at_it_kept_as_an_extra_one(
    crew: Client, stops: list[RoundStop]
) -> None:
    member = stops[0].due.member
    take_out(member, TODAY, "rotten")
    page = text(crew.get(stop_url(stops[0])))
    assert "Called off on 3 May 2027: S-SILL-01 was taken out: rotten" in page
    assert "Next: S-SILL-02" in page
    mine = look(notes="Seen at eight", looked_on="2027-05-02")
    told = text(crew.post(stop_url(stops[0]), mine))
    assert "This look was called off on 3 May 2027" in told
    crew.post(stop_url(stops[0]), {**mine, "keep_apart": "1"})
    assert Inspection.objects.get().due is None


@pytest.mark.parametrize(
    ("day", "said"),
    [
        ("2027-03-31", "The repair was made on 1 April 2027"),
        ("2027-05-04", "still to come"),
        ("1825-05-04", "Check the year"),
        ("soon", "Type the day like"),
    ],
)
def test_a_day_that_cannot_be_is_refused_and_what_was_typed_stays(
    crew: Client, stops: list[RoundStop], day: str, said: str
) -> None:
    due = stops[0].due
    due.repair = make.RepairFactory(
        member=due.member, began_at=datetime(2027, 4, 1, 9, tzinfo=NOW.tzinfo)
    )
    due.save()
    sent = look(looked_on=day, notes="kept as typed", flaking="3", cracking="1.5")
    page = crew.post(stop_url(stops[0]), sent)
    assert said in str(page.context["form"].errors["looked_on"])
    assert "kept as typed" in text(page)
    rows = {row.field.name: row for row in page.context["ratings"]}
    assert [b.value for b in rows["flaking"].whole if b.chosen] == ["3"]
    assert rows["cracking"].is_open
    assert page.context["more_open"]
    assert not Inspection.objects.exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("flaking", "6"), ("flaking", "2.3"), ("result", ""), ("result", "fine"),
        ("moisture_pct", "201"), ("notes", "x" * 5001), ("zone", "top"), ("looked_by", "999999"),
        ("key", "nonsense"), ("looked_on", "a\0b"),
    ],
)  # fmt: skip
def test_a_value_that_cannot_be_is_refused(
    crew: Client, stops: list[RoundStop], field: str, value: str
) -> None:
    page = crew.post(stop_url(stops[0]), look(**{field: value}))
    assert field in page.context["form"].errors
    assert not Inspection.objects.exists()


def test_the_date_of_another_stop_is_not_answered(crew: Client, stops: list[RoundStop]) -> None:
    crew.post(stop_url(stops[0]), look(due=stops[1].due_id, act="save"))
    assert Inspection.objects.get().due == stops[0].due
    stops[1].due.refresh_from_db()
    assert stops[1].due.is_outstanding()


# Left out


def test_a_stop_is_left_out_with_a_reason_and_put_back(
    crew: Client, stops: list[RoundStop]
) -> None:
    refused = crew.post(stop_url(stops[0]), {"act": "leave-out", "left_out_because": ""})
    assert "Say why it is left out" in text(refused)
    gone_on = crew.post(stop_url(stops[0]), {"act": "leave-out", "left_out_because": "Nest"})
    assert gone_on.headers["Location"] == stop_url(stops[1])
    page = text(crew.get(stop_url(stops[0])))
    assert "Left out: Nest" in page
    crew.post(stop_url(stops[0]), {"act": "put-back"})
    assert stops[0].round.stops.to_do().count() == 3


def test_what_was_left_out_and_looked_at_after_all_was_looked_at(
    crew: Client, stops: list[RoundStop]
) -> None:
    RoundStop.objects.filter(pk=stops[0].pk).update(left_out_because="Nest")
    crew.post(stop_url(stops[0]), look())
    stops[0].refresh_from_db()
    assert stops[0].inspection is not None
    assert stops[0].left_out_because == ""


def test_what_was_looked_at_is_not_left_out(crew: Client, stops: list[RoundStop]) -> None:
    crew.post(stop_url(stops[0]), look())
    crew.post(stop_url(stops[0]), {"act": "leave-out", "left_out_because": "Nest"})
    stops[0].refresh_from_db()
    assert stops[0].left_out_because == ""


# Photographs


def jpeg() -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "sienna").save(out, "JPEG")
    return SimpleUploadedFile("sill.jpg", out.getvalue(), content_type="image/jpeg")


def test_photographs_survive_a_rejected_save(
    crew: Client, stops: list[RoundStop], media_root: Any
) -> None:
    first = look(result="", photographs=[jpeg()], caption="Left end")
    page = text(crew.post(stop_url(stops[0]), first))
    held = Draft.objects.get().photographs.get()
    assert reverse("draft-photograph-file", args=[held.pk]) in page
    crew.post(stop_url(stops[0]), {**look(), "key": first["key"]})
    stops[0].refresh_from_db()
    assert Photograph.objects.get().inspection == stops[0].inspection
    assert not Draft.objects.exists()


# Who may


def test_who_may_not_record_looks_walks_no_round(client: Client, stops: list[RoundStop]) -> None:
    client.force_login(make.make_viewer(stops[0].due.member.building.property))
    assert client.post(stop_url(stops[0]), look()).status_code == 403
    assert not Inspection.objects.exists()

"""Choosing looks for a round, giving it to a person, changing it, ending it."""

from datetime import date, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.http import QueryDict
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from repairs.forms.rounds import TickedDatesForm
from repairs.models import DueDate, Round, RoundStop
from repairs.models.due_dates import DueKind
from repairs.rounds.choose import MOST_CANDIDATES
from repairs.rounds.standing import progress, with_looks
from repairs.tables.rounds import with_counts
from tests import factories as make
from tests.repairs.walking import (
    DUE_ON,
    NOW,
    TODAY,
    face,
    look,
    look_due,
    mill,
    new_round,
    round_of,
    stop_url,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]
NEW = "/rounds/new/"


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


def offered(client: Client, **query: Any) -> list[str]:
    groups = client.get(NEW, query).context["choice"].groups
    return [row.member.mark for group in groups for row in group.rows]


def text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


def queries(client: Client, url: str) -> int:
    with CaptureQueriesContext(connection) as found:
        assert client.get(url).status_code == 200
    return len(found)


# What is offered


def test_looks_are_offered_from_the_day_their_window_opens(crew: Client) -> None:
    side = face(mill(), "North")
    look_due(side, "open", due_on=TODAY + timedelta(days=14), window_days=14)
    look_due(side, "shut", due_on=TODAY + timedelta(days=15), window_days=14)
    look_due(side, "wide", due_on=TODAY + timedelta(days=60), window_days=60)
    look_due(side, "late", due_on=TODAY - timedelta(days=300))
    assert offered(crew) == ["late", "open", "wide"]
    assert offered(crew, until="2027-05-04") == ["late", "open", "shut", "wide"]


def test_repaints_and_what_is_done_gone_or_sold_are_not_offered(crew: Client) -> None:
    side = face(mill(), "North")
    look_due(side, "paint", kind=DueKind.REPAINT)
    look_due(side, "done", done_on=TODAY)
    look_due(side, "off", cancelled_on=TODAY, cancelled_reason="Boarded over")
    sold = make.PropertyFactory(given_up_on=TODAY, given_up_reason="sold")
    look_due(face(make.BuildingFactory(property=sold), "North"), "sold")
    gone = look_due(side, "gone").member
    gone.removed_on, gone.removed_reason = TODAY, "rotten"
    gone.save()
    assert offered(crew) == []


def test_looks_are_narrowed_by_place_access_and_person(crew: Client, robin: Any) -> None:
    building = mill()
    north, south = face(building, "North", 0), face(building, "South", 180, "tower")
    look_due(north, "N", person=robin)
    look_due(south, "S")
    other = look_due(face(make.BuildingFactory(property__name="Quay"), "Q"), "Q").member
    bare = make.MemberFactory(mark="bare", building=building, elevation=None)
    make.DueDateFactory(member=bare, due_on=DUE_ON, kind=DueKind.MEMBER_LOOK)
    at_mill = {"property": building.property_id}
    assert offered(crew, **at_mill) == ["N", "S", "bare"]
    assert offered(crew, **at_mill, place=f"e{south.pk}") == ["S"]
    assert offered(crew, **at_mill, place=f"b{building.pk}") == ["N", "S", "bare"]
    assert offered(crew, access="tower") == ["S"]
    assert offered(crew, **at_mill, access="unknown") == ["bare"]
    assert offered(crew, whose="mine") == ["N"]
    assert offered(crew, **at_mill, whose="nobody") == ["S", "bare"]
    assert offered(crew, property=other.building.property_id) == ["Q"]


def test_what_stands_in_an_open_round_of_a_person_is_theirs(crew: Client, robin: Any) -> None:
    side, kim = face(mill(), "North"), make.make_crew(first_name="Kim", last_name="Elm")
    mine, hers, nobodys, ended, answered, out = (
        look_due(side, mark) for mark in ("mine", "hers", "nobodys", "ended", "answered", "out")
    )
    round = round_of(mine, answered, out, person=robin, walk_on=date(2027, 5, 4))
    crew.post(stop_url(round.stops.get(due=answered)), look(result="not_reached"))
    round.stops.filter(due=out).update(left_out_because="gate locked")
    round_of(hers, person=kim)
    round_of(nobodys)
    round_of(ended, person=robin, ended_on=TODAY, ended_because="rain")
    assert offered(crew, whose="mine") == ["mine"]
    assert offered(crew, whose="nobody") == ["answered", "ended", "nobodys", "out"]
    for person, marks in ((robin, ["mine"]), (kim, ["hers"])):
        rows = crew.get("/inspections/", {"person": person.pk}).context["table"].rows
        assert [row.record.member.mark for row in rows] == marks
    words = "Robin Larch, on the round of 4 May 2027"
    assert words in text(crew.get("/inspections/"))
    assert words in text(crew.get(mine.get_absolute_url()))
    assert "Nobody yet" in text(crew.get(ended.get_absolute_url()))


def test_who_walks_a_round_stands_beside_whom_the_date_was_given_to(
    crew: Client, robin: Any
) -> None:
    due = look_due(face(mill(), "North"), "N-1", person=make.make_crew(first_name="Kim"))
    round_of(due, person=robin)
    page = text(crew.get(due.get_absolute_url()))
    assert f"{due.person.get_full_name()}; Robin Larch, on the round of 3 May 2027" in page  # type: ignore[union-attr]


def test_those_that_need_the_tower_stand_together(crew: Client) -> None:
    building = mill()
    for name, bearing, access in (
        ("North foot", 0, "ground"), ("North", 0, "tower"), ("South foot", 180, "ground"),
        ("South", 180, "tower"),
    ):  # fmt: skip
        look_due(face(building, name, bearing, access), name)
    answer = crew.get(NEW)
    groups = answer.context["choice"].groups
    assert [[row.member.mark for row in group.rows] for group in groups] == [
        ["North foot", "South foot"],
        ["North", "South"],
    ]
    assert "Mill Row, Granary: tower" in text(answer)


def test_all_of_a_property_are_ticked_but_those_of_another_round(crew: Client) -> None:
    side = face(mill(), "North")
    mine, taken = look_due(side, "N-SILL-01"), look_due(side, "N-SILL-02")
    round_of(taken, name="Gutters", walk_on=date(2027, 5, 20))
    answer = crew.get(NEW, {"property": side.building.property_id})
    assert answer.context["ticked"] == {str(mine.pk)}
    assert "stands in Gutters of 20 May 2027 already" in text(answer)
    assert crew.get(NEW).context["ticked"] == set()


def test_a_name_is_proposed(crew: Client) -> None:
    side = face(mill(), "North", 0, "tower")
    look_due(side, "N-SILL-01")
    asked = {"property": side.building.property_id, "until": "2027-05-08"}
    form = crew.get(NEW, asked).context["form"]
    assert form["name"].value() == "Mill Row, Granary, tower"
    assert form["walk_on"].value() == date(2027, 5, 8)


def test_an_empty_page_says_when_the_next_becomes_due(crew: Client) -> None:
    assert "No look is planned here" in text(crew.get(NEW))
    look_due(face(mill(), "North"), "N-SILL-01", due_on=date(2027, 8, 15), window_days=14)
    assert "the next from 1 August 2027 on" in text(crew.get(NEW))
    assert offered(crew, until="2027-08-01") == ["N-SILL-01"]


def test_asking_costs_no_more_queries_for_more_looks(crew: Client) -> None:
    side = face(mill(), "North")
    dues = [look_due(side, f"N-{n}") for n in range(3)]
    round_of(dues[0])
    url = f"{NEW}?property={side.building.property_id}"
    few = queries(crew, url)
    others = [look_due(face(side.building, f"Side {n}"), f"S-{n}", window_days=n + 9)
              for n in range(12)]  # fmt: skip
    round_of(*others[:4])
    assert queries(crew, url) == few


# Making one


def test_a_round_is_made_in_walking_order(crew: Client, robin: Any) -> None:
    building = mill()
    south, north = face(building, "South", 180), face(building, "North", 0)
    dues = [look_due(south, "S-SILL-10"), look_due(south, "S-SILL-2"), look_due(north, "N-SILL-1")]
    answer = crew.post(NEW, new_round(*dues, person=robin.pk, notes="Key at the lodge"))
    made = Round.objects.get()
    assert answer.url == made.get_absolute_url()  # type: ignore[attr-defined]
    marks = [stop.due.member.mark for stop in made.stops.with_place()]
    assert marks == ["N-SILL-1", "S-SILL-2", "S-SILL-10"]
    assert (made.person, made.made_by, made.notes) == (robin, robin, "Key at the lodge")
    assert RoundStop.history.count() == 3


def test_a_round_leaves_its_dates_to_whom_they_were_given(crew: Client, robin: Any) -> None:
    side, kim = face(mill(), "North"), make.make_crew(first_name="Kim", last_name="Elm")
    nobodys, kims = look_due(side, "N-1"), look_due(side, "N-2", person=kim)
    crew.post(NEW, new_round(nobodys, kims, person=robin.pk))
    for due, person in ((nobodys, None), (kims, kim)):
        due.refresh_from_db()
        assert due.person == person
        assert due.history.count() == 1


def test_the_date_after_one_looked_at_on_a_round_is_nobodys_again(crew: Client, robin: Any) -> None:
    due = look_due(face(mill(), "North"), "N-1")
    crew.post(NEW, new_round(due, person=robin.pk))
    stop = RoundStop.objects.get(due=due)
    crew.post(stop_url(stop), look(next_on="2028-05-08", next_reason="With the tower"))
    after = DueDate.objects.outstanding().get(member=due.member)
    assert after.person is None


def test_one_form_sent_twice_makes_one_round(crew: Client) -> None:
    typed = new_round(look_due(face(mill(), "North"), "N-SILL-1"))
    first, second = crew.post(NEW, typed), crew.post(NEW, typed)
    assert first.url == second.url  # type: ignore[attr-defined]
    assert Round.objects.count() == RoundStop.objects.count() == 1


@pytest.mark.parametrize("gone", ["done", "off"])
def test_what_was_answered_since_is_told_and_the_rest_stays_typed(crew: Client, gone: str) -> None:
    side = face(mill(), "North")
    quick, slow = look_due(side, "N-SILL-1"), look_due(side, "N-SILL-2")
    if gone == "done":
        quick.answer(TODAY)
    else:
        quick.call_off(TODAY, "Boarded over")
    answer = crew.post(NEW, new_round(quick, slow, name="After lunch", notes="Bring the meter"))
    page = text(answer)
    assert "N-SILL-1 was looked at or called off since this page was opened" in page
    assert 'value="After lunch"' in page
    assert "Bring the meter" in page
    assert f'value="{slow.pk}" checked' in page
    assert not Round.objects.exists()


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": ""}, "name"), ({"name": "x" * 201}, "name"), ({"walk_on": "soon"}, "walk_on"),
        ({"walk_on": "2227-05-03"}, "walk_on"), ({"person": "999999"}, "person"),
        ({"due": []}, "due"), ({"due": ["999999"]}, "due"), ({"due": ["one"]}, "due"),
        ({"due": ["9" * 30]}, "due"), ({"notes": "x" * 5001}, "notes"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_beside_its_field(
    crew: Client, changes: dict[str, Any], field: str
) -> None:
    due = look_due(face(mill(), "North"), "N-SILL-1")
    answer = crew.post(NEW, new_round(due, **changes))
    assert field in answer.context["form"].errors
    assert not Round.objects.exists()


def test_a_repaint_or_a_viewer_gets_into_no_round(crew: Client) -> None:
    side = face(mill(), "North")
    paint, due = look_due(side, "N-1", kind=DueKind.REPAINT), look_due(side, "N-2")
    viewer = make.make_viewer(side.building.property)
    assert "due" in crew.post(NEW, new_round(paint)).context["form"].errors
    errors = crew.post(NEW, new_round(due, person=viewer.pk)).context["form"].errors
    assert "person" in errors
    assert not Round.objects.exists()


def test_further_looks_are_added_behind_the_others(crew: Client, robin: Any) -> None:
    side = face(mill(), "North")
    first, third, second = (look_due(side, f"N-{n}") for n in (1, 3, 2))
    round = round_of(first, person=robin)
    url = f"{NEW}?round={round.pk}"
    assert "Add to Mill Row, tower" in text(crew.get(url))
    crew.post(url, {"due": [third.pk, first.pk, second.pk]})
    assert [stop.due for stop in round.stops.all()] == [first, second, third]


def test_nothing_is_added_to_a_round_that_has_ended(crew: Client) -> None:
    due = look_due(face(mill(), "North"), "N-1")
    round = round_of(ended_on=TODAY, ended_because="rain")
    for sent in (crew.get(f"{NEW}?round={round.pk}", follow=True),
                 crew.post(f"{NEW}?round={round.pk}", {"due": [due.pk]}, follow=True)):  # fmt: skip
        assert "That round has ended or is not there" in text(sent)
    assert not RoundStop.objects.exists()


def test_a_round_grows_no_longer_than_one_can_be(robin: Any) -> None:
    due = look_due(face(mill(), "North"), "N-1")
    there = set(range(due.pk + 1, due.pk + 1 + MOST_CANDIDATES))
    full = TickedDatesForm(QueryDict(f"due={due.pk}"), by=robin, there=there)
    assert f"{MOST_CANDIDATES + 1} looks are more than one round can hold" in str(full.errors)
    there.pop()
    assert TickedDatesForm(QueryDict(f"due={due.pk}"), by=robin, there=there).is_valid()


# Five hundred


@pytest.fixture
def five_hundred() -> list[DueDate]:
    building = mill()
    sides = [face(building, name, deg) for name, deg in (("N", 0), ("E", 90), ("S", 180))]
    return [look_due(sides[n % 3], f"{sides[n % 3].name}-{n}") for n in range(500)]


def test_a_round_of_500_is_chosen_saved_read_and_changed(
    crew: Client, five_hundred: list[DueDate], robin: Any
) -> None:
    building = five_hundred[0].member.building
    page = crew.get(NEW, {"property": building.property_id})
    assert len(page.context["ticked"]) == 500
    with CaptureQueriesContext(connection) as saving:
        crew.post(NEW, new_round(*five_hundred, person=robin.pk))
    assert len(saving) < 60
    round = Round.objects.get()
    assert round.stops.count() == 500
    detail = crew.get(round.get_absolute_url())
    assert "0 of 500 looked at; next: N-0 on N, from the ground" in text(detail)
    assert queries(crew, round.get_absolute_url()) < 15
    assert queries(crew, reverse("round-edit", args=[round.pk])) < 15
    crew.post(reverse("round-edit", args=[round.pk]), {"order": "1"})
    assert round.stops.first().due.member.mark == "N-0"  # type: ignore[union-attr]


def test_more_than_can_be_ticked_are_told(crew: Client) -> None:
    side = face(mill(), "North")
    due = look_due(side, "N-1")
    further = [DueDate(member=due.member, kind=due.kind, due_on=DUE_ON, counted_from=DUE_ON)
               for _ in range(MOST_CANDIDATES + 3)]  # fmt: skip
    DueDate.objects.bulk_create(further)
    page = crew.get(NEW, {"property": side.building.property_id})
    assert f"Shown are the {MOST_CANDIDATES} that are due first, of {MOST_CANDIDATES + 4}" in text(
        page
    )
    every = [str(pk) for pk in DueDate.objects.values_list("pk", flat=True)]
    refused = crew.post(NEW, {**new_round(due), "due": every})
    assert "Make two rounds of them" in str(refused.context["form"].errors["due"])


# The list and one round


def test_the_list_has_open_rounds_first_those_of_the_reader_before_others(
    crew: Client, robin: Any
) -> None:
    round_of(name="Another's", person=make.make_crew(), walk_on=date(2027, 5, 1))
    round_of(name="Mine", person=robin, walk_on=date(2027, 5, 9))
    round_of(name="Over", person=robin, ended_on=TODAY, ended_because="all done")
    answer = crew.get(reverse("round-list"))
    names = [row.record.name for row in answer.context["table"].rows]
    assert names == ["Mine", "Another's"]
    assert "Two rounds are open, one of them past its day. Yours: Mine, 9 May 2027." in text(answer)
    ended = crew.get(reverse("round-list"), {"state": "ended"})
    assert "all done" in text(ended)


def test_the_list_costs_no_more_queries_for_more_rounds(crew: Client) -> None:
    side = face(mill(), "North")
    round_of(look_due(side, "N-1"), person=make.make_crew())
    few = queries(crew, reverse("round-list"))
    for n in range(8):
        round_of(look_due(side, f"S-{n}"), look_due(side, f"E-{n}"), person=make.make_crew())
    assert queries(crew, reverse("round-list")) == few


def every_state() -> Round:
    """A round with a stop in each state that a stop can have."""
    side = face(mill(), "South", 180, "tower")
    names = ("left", "looked", "missed", "apart", "off", "out", "out but done")
    dues = {name: look_due(side, name) for name in names}
    round = round_of(*dues.values())
    for name, result in (("looked", "watch"), ("missed", "not_reached")):
        stop = round.stops.get(due=dues[name])
        stop.inspection = make.InspectionFactory(
            member=stop.due.member, due=stop.due, result=result, looked_by_name="Ash Rowan"
        )
        stop.save()
    for name in ("looked", "apart", "out but done"):
        dues[name].answer(TODAY)
    make.InspectionFactory(member=dues["apart"].member, due=dues["apart"], looked_by_name="Kim Elm")
    dues["off"].call_off(TODAY, "Boarded over")
    round.stops.filter(due__in=[dues["out"], dues["out but done"]]).update(
        left_out_because="Gate locked"
    )
    return round


def test_a_round_says_how_far_it_is_and_how_each_stop_stands(crew: Client) -> None:
    page = text(crew.get(every_state().get_absolute_url()))
    assert (
        "3 of 6 looked at; 1 could not be reached; 1 called off; 1 left out; "
        "next: left on South, tower."
    ) in page
    assert "Granary: South, facing south, tower" in page
    assert "Watch, 4 June 2026, Ash Rowan" in page
    assert "Kim Elm; apart from this round" in page
    assert "Left out: Gate locked" in page
    assert "Boarded over" in page
    assert "To look at; due 10 May 2027" in page


def test_the_list_counts_as_the_round_itself_does(crew: Client, robin: Any) -> None:
    round = every_state()
    told = progress(with_looks(round.stops.all()))
    counted: Any = with_counts(Round.objects.all(), robin).get()
    assert (counted.of, counted.looked, counted.left) == (told.of, told.looked, told.to_do)
    to_do = [stop for stop in round.stops.with_place() if stop.is_to_do()]
    assert to_do == list(round.stops.to_do())


def test_a_round_of_a_sold_property_says_so(crew: Client) -> None:
    due = look_due(face(mill(), "North"), "N-1")
    of = due.member.building.property
    of.given_up_on, of.given_up_reason = date(2027, 5, 1), "sold"
    of.save()
    page = text(crew.get(round_of(due).get_absolute_url()))
    assert "Mill Row is no longer looked after since 1 May 2027" in page


# Changing one


def edit(client: Client, round: Round, **sent: Any) -> Any:
    return client.post(reverse("round-edit", args=[round.pk]), sent)


def order(round: Round) -> list[str]:
    return [stop.due.member.mark for stop in round.stops.with_place()]


def test_a_round_is_given_to_another_person_for_another_day(crew: Client) -> None:
    side, kim = face(mill(), "North"), make.make_crew(first_name="Kim", last_name="Elm")
    round = round_of(look_due(side, "N-1"))
    edit(crew, round, save="1", name="Moved", walk_on="2027-05-09", person=kim.pk, notes="")
    round.refresh_from_db()
    assert (round.name, round.walk_on, round.person) == ("Moved", date(2027, 5, 9), kim)
    assert round.history.count() == 2


def test_an_edit_that_cannot_be_keeps_what_was_typed(crew: Client) -> None:
    round = round_of()
    answer = edit(crew, round, save="1", name="", walk_on="2027-05-09", notes="Bring the meter")
    assert "name" in answer.context["form"].errors
    assert "Bring the meter" in text(answer)


def test_stops_move_up_and_down_and_back_into_walking_order(crew: Client) -> None:
    side = face(mill(), "North")
    round = round_of(*(look_due(side, f"N-{n}") for n in (1, 2, 3)))
    first, _, third = round.stops.all()
    edit(crew, round, up=third.pk)
    assert order(round) == ["N-1", "N-3", "N-2"]
    edit(crew, round, down=first.pk)
    assert order(round) == ["N-3", "N-1", "N-2"]
    edit(crew, round, up=third.pk)
    assert order(round) == ["N-3", "N-1", "N-2"]
    assert third.history.count() == 3
    edit(crew, round, order="1")
    assert order(round) == ["N-1", "N-2", "N-3"]


def test_stops_are_left_out_with_a_reason_and_put_back(crew: Client) -> None:
    side = face(mill(), "North")
    one, two = look_due(side, "N-1"), look_due(side, "N-2")
    round = round_of(one, two)
    stop = round.stops.get(due=one)
    refused = edit(crew, round, **{"leave-out": "1", "stop": [stop.pk]})
    assert "left_out_because" in refused.context["leaving"].errors
    assert f'value="{stop.pk}" checked' in text(refused)
    nothing = edit(crew, round, **{"leave-out": "1", "left_out_because": "Gate locked"})
    assert "Tick the stops that are left out" in text(nothing)
    edit(crew, round, **{"leave-out": "1", "stop": [stop.pk], "left_out_because": "Gate locked"})
    assert [each.due for each in round.stops.to_do()] == [two]
    one.refresh_from_db()
    assert one.is_outstanding()
    stop.refresh_from_db()
    assert stop.history.first().left_out_because == "Gate locked"
    edit(crew, round, **{"put-back": stop.pk})
    assert round.stops.to_do().count() == 2


def test_a_stop_of_another_round_is_not_found(crew: Client) -> None:
    side = face(mill(), "North")
    round, other = round_of(look_due(side, "N-1")), round_of(look_due(side, "N-2"))
    foreign = other.stops.get()
    for act in ("up", "down", "put-back"):
        for value in (foreign.pk, "x", "9" * 30):
            assert edit(crew, round, **{act: value}).status_code == 404
    sent = {"leave-out": "1", "stop": [foreign.pk], "left_out_because": "Gate locked"}
    edit(crew, round, **sent)
    foreign.refresh_from_db()
    assert not foreign.left_out_because
    assert crew.get(reverse("round-stop", args=[round.pk, foreign.pk])).status_code == 404
    assert crew.post(reverse("round-stop", args=[round.pk, foreign.pk])).status_code == 404


def test_a_round_ends_with_a_reason_and_is_changed_no_more(crew: Client) -> None:
    due = look_due(face(mill(), "North"), "N-1")
    round = round_of(due)
    end = reverse("round-end", args=[round.pk])
    assert "1 stop of it is still to be looked at" in text(crew.get(end))
    assert "reason" in crew.post(end, {"reason": ""}).context["form"].errors
    crew.post(end, {"reason": "Rain"})
    round.refresh_from_db()
    assert (round.ended_on, round.ended_because) == (TODAY, "Rain")
    due.refresh_from_db()
    assert due.is_outstanding()
    edit(crew, round, save="1", name="Renamed", walk_on="2027-05-09")
    crew.post(end, {"reason": "Snow"})
    round.refresh_from_db()
    assert (round.name, round.ended_because) == ("Mill Row, tower", "Rain")


def test_the_end_is_offered_when_nothing_is_left(crew: Client) -> None:
    due = look_due(face(mill(), "North"), "N-1")
    round = round_of(due)
    assert "Walk it: N-1" in text(crew.get(round.get_absolute_url()))
    due.answer(TODAY)
    page = text(crew.get(round.get_absolute_url()))
    assert "Nothing is left to look at" in page
    assert "End this round" in page
    assert 'value="all done"' in text(crew.get(reverse("round-end", args=[round.pk])))


# Who may


def test_a_viewer_sees_no_round(client: Client) -> None:
    due = look_due(face(mill(), "North"), "N-1")
    round = round_of(due)
    client.force_login(make.make_viewer(due.member.building.property))
    for name in ("round-list", "round-new"):
        assert client.get(reverse(name)).status_code == 403
    for name in ("round-detail", "round-edit", "round-end", "round-walk"):
        assert client.get(reverse(name, args=[round.pk])).status_code == 403
    assert (
        client.get(reverse("round-stop", args=[round.pk, round.stops.get().pk])).status_code == 403
    )
    assert "Rounds" not in text(client.get(reverse("inspection-list")))


def test_who_sees_one_property_finds_no_round_that_leads_elsewhere(client: Client) -> None:
    """Crew see every property; without that right, a round that leads elsewhere stays hidden."""
    from django.contrib.auth.models import Group, Permission

    crew = Group.objects.get(name="Crew")
    crew.permissions.remove(Permission.objects.get(codename="view_every_property"))
    here, there = (look_due(face(make.BuildingFactory(), "North"), mark) for mark in "HT")
    user = make.make_crew()
    make.PersonFactory(user=user).properties.set([here.member.building.property])
    client.force_login(user)
    mine, both = round_of(here), round_of(here, there)
    assert client.get(mine.get_absolute_url()).status_code == 200
    assert client.get(both.get_absolute_url()).status_code == 404
    stop = both.stops.get(due=here)
    assert client.get(reverse("round-stop", args=[both.pk, stop.pk])).status_code == 404
    assert "due" in client.post(NEW, new_round(there)).context["form"].errors


def test_the_log_of_a_round_tells_its_stops_too(crew: Client, robin: Any) -> None:
    due = look_due(face(mill(), "North"), "N-1")
    crew.post(NEW, new_round(due, person=robin.pk))
    page = text(crew.get(reverse("change-log", args=["round", Round.objects.get().pk])))
    assert "Round stop entered" in page
    assert "Robin Larch" in page

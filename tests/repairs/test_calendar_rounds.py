"""Rounds in a person's own calendar: on their day, kept over changes, cancelled when they end."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import icalendar
import pytest
import time_machine
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from repairs.calendars import feed as feeds
from repairs.models import CalendarFeed, DueDate, Round
from repairs.rounds import act
from tests import factories as make
from tests.repairs.test_calendar_feeds import feed_of, read

NOW = datetime(2026, 5, 5, 9, 0, tzinfo=UTC)
TODAY = NOW.date()
DAY = date(2026, 5, 8)
OWN = CalendarFeed.Shows.OWN
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]


@pytest.fixture
def now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def robin() -> User:
    return make.make_crew(first_name="Robin", last_name="Birch")


def dates_at(place: str, number: int, **facts: Any) -> list[DueDate]:
    of = make.PropertyFactory(name=place, address="1 Invented Lane\nLarkfield")
    elevation = make.ElevationFactory(
        building__property=of, building__name="Granary", access="ladder"
    )
    dates: list[DueDate] = [
        make.DueDateFactory(
            member__building=elevation.building, member__elevation=elevation, **facts
        )
        for _ in range(number)
    ]
    return dates


def round_for(person: User | None, number: int = 2, **facts: Any) -> Round:
    dates = dates_at("Mill Row", number)
    told: dict[str, Any] = {"name": "Mill Row", "walk_on": DAY, "notes": ""} | facts
    return act.make_round(
        told["name"], told["walk_on"], person, [due.pk for due in dates],
        make.make_manager(), make.RoundFactory.build().submission, told["notes"],
    )  # fmt: skip


def give(walk: Round, person: User, walk_on: date = DAY) -> None:
    act.change(walk, act.RoundFacts(walk.name, walk_on, person, walk.notes))


def rounds_in(feed: CalendarFeed) -> list[Any]:
    return [entry for entry in read(feed) if "Round: " in entry["SUMMARY"]]


def own(user: User) -> CalendarFeed:
    return feed_of(user, shows=OWN)


def test_an_open_round_stands_on_its_day_in_place_of_the_dates_of_its_stops(robin: User) -> None:
    walk = round_for(robin, 12, notes="Key at the lodge")
    (entry,) = read(own(robin))
    assert entry["SUMMARY"] == "Round: Mill Row, 12 looks"
    assert (entry["DTSTART"].dt, entry["DTEND"].dt) == (DAY, DAY + timedelta(days=1))
    assert entry["LOCATION"] == "Mill Row, 1 Invented Lane, Larkfield"
    assert entry["URL"] == f"http://testserver/rounds/{walk.pk}/"
    assert entry["STATUS"] == "CONFIRMED"
    assert str(entry["DESCRIPTION"]).splitlines() == [
        "12 looks on 8 May 2026",
        "Who walks it: Robin Birch",
        "Buildings: Granary",
        "Access: ladder",
        "Key at the lodge",
    ]


def test_a_date_given_by_itself_stands_beside_the_round_and_stays_when_it_goes(
    robin: User,
) -> None:
    walk, feed = round_for(robin, 2), own(robin)
    DueDate.objects.filter(pk=walk.stops.all()[0].due_id).update(person=robin)
    assert len(read(feed)) == 2
    give(walk, make.make_crew())
    dates = [entry for entry in read(feed) if "Round: " not in entry["SUMMARY"]]
    assert [entry["STATUS"] for entry in dates] == ["CONFIRMED"]


def test_it_stands_in_no_calendar_but_the_own_one_of_who_walks_it(robin: User) -> None:
    walk = round_for(robin)
    place = walk.stops.first().due.member.building.property  # type: ignore[union-attr]
    round_for(None, name="Nobody's")
    round_for(make.make_crew(), name="Hers")
    assert [str(entry["SUMMARY"]) for entry in rounds_in(own(robin))] == [
        "Round: Mill Row, two looks"
    ]
    assert rounds_in(feed_of(robin)) == []
    assert rounds_in(feed_of(robin, place)) == []


def test_every_change_keeps_the_uid_and_raises_the_sequence(robin: User) -> None:
    manager = make.make_manager()
    walk, feed = round_for(robin), own(robin)
    told = rounds_in(feed)
    with time_machine.travel(NOW + timedelta(hours=2), tick=False):
        give(walk, robin, DAY + timedelta(days=1))
    told += rounds_in(feed)
    act.add_dates(walk, [due.pk for due in dates_at("Quay", 1)], manager)
    told += rounds_in(feed)
    act.leave_out(walk.stops.all()[:1], "the ladder is broken", manager)
    told += rounds_in(feed)
    assert {entry["UID"] for entry in told} == {told[0]["UID"]}
    numbers = [entry["SEQUENCE"] for entry in told]
    assert numbers == sorted(set(numbers))
    assert told[1]["LAST-MODIFIED"].dt == NOW + timedelta(hours=2)
    assert [entry["DTSTART"].dt.day for entry in told] == [8, 9, 9, 9]
    looks = [str(entry["SUMMARY"]).split(", ")[-1] for entry in told]
    assert looks == ["two looks", "two looks", "three looks", "two looks"]


def test_two_calendars_name_one_round_apart_and_the_same_again(robin: User) -> None:
    walk, other = round_for(robin), make.make_crew()
    feed = own(robin)
    (mine,) = rounds_in(feed)
    give(walk, other)
    (hers,) = rounds_in(own(other))
    assert mine["UID"] != hers["UID"]
    assert rounds_in(feed)[0]["UID"] == mine["UID"]


def test_one_given_to_somebody_else_is_cancelled_and_comes_back_with_it(robin: User) -> None:
    other = make.make_crew()
    walk, feed = round_for(robin), own(robin)
    give(walk, other)
    (away,) = rounds_in(feed)
    assert away["STATUS"] == "CANCELLED"
    assert away["SUMMARY"].startswith("Given away: Round: Mill Row")
    assert rounds_in(own(other))[0]["STATUS"] == "CONFIRMED"
    give(walk, robin)
    (back,) = rounds_in(feed)
    assert back["STATUS"] == "CONFIRMED"
    assert back["SEQUENCE"] > away["SEQUENCE"]


def test_one_ended_before_it_was_walked_is_cancelled_and_else_it_is_told(robin: User) -> None:
    never, walked, feed = round_for(robin), round_for(robin), own(robin)
    stop = walked.stops.all()[0]
    stop.inspection = make.InspectionFactory(member=stop.due.member, due=stop.due)
    stop.save()
    for each in (never, walked):
        act.end_round(each, "storm", TODAY)
    entries = {entry["URL"].rsplit("/", 2)[1]: entry for entry in rounds_in(feed)}
    off, done = entries[str(never.pk)], entries[str(walked.pk)]
    assert (off["STATUS"], done["STATUS"]) == ("CANCELLED", "CONFIRMED")
    assert off["SUMMARY"].startswith("Called off: Round: ")
    assert done["SUMMARY"].startswith("Ended: Round: ")
    assert "Ended on 5 May 2026: storm" in off["DESCRIPTION"]
    with time_machine.travel(NOW + timedelta(days=365), tick=False):
        assert len(rounds_in(feed)) == 2
    with time_machine.travel(NOW + timedelta(days=367), tick=False):
        assert rounds_in(feed) == []


def test_one_left_open_stays_until_it_is_ended(robin: User) -> None:
    round_for(robin, walk_on=date(2024, 5, 8))
    assert [entry["DTSTART"].dt for entry in rounds_in(own(robin))] == [date(2024, 5, 8)]


def test_a_round_of_a_property_given_up_or_without_a_stop_is_not_shown(robin: User) -> None:
    walk = round_for(robin)
    make.RoundFactory(person=robin, walk_on=DAY)
    place = walk.stops.all()[0].due.member.building.property
    place.given_up_on, place.given_up_reason = TODAY, "sold"
    place.save()
    assert read(own(robin)) == []


def test_a_viewer_reads_of_no_round(robin: User) -> None:
    walk = round_for(robin)
    viewer = make.make_viewer(walk.stops.all()[0].due.member.building.property)
    Round.objects.update(person=viewer)
    assert rounds_in(own(viewer)) == []


def test_names_of_any_kind_are_read_back(robin: User) -> None:
    name = ("Fenêtre; «Nord», <b>بيت الخشب</b> & 窓枠\u2028\x0b " + "lang " * 40)[:200]
    round_for(robin, name=name, notes="a\r\nb\x0cc")
    (entry,) = rounds_in(own(robin))
    assert "Fenêtre; «Nord», <b>بيت الخشب</b> & 窓枠   lang" in entry["SUMMARY"]


def test_more_rounds_take_no_more_queries(robin: User) -> None:
    feed = own(robin)

    def queries(number: int) -> int:
        for _ in range(number):
            round_for(robin)
        with CaptureQueriesContext(connection) as taken:
            assert Client().get(feed.get_absolute_url()).status_code == 200
        return len(taken)

    few = queries(2)
    assert queries(20) == few <= 7


def test_rounds_count_to_the_most_that_a_calendar_is_read_with(
    robin: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(feeds, "MOST_ENTRIES", 2)
    round_for(robin)
    dates_at("Quay", 2, person=robin)
    feed = own(robin)
    entries = read(feed)
    assert [str(entry["SUMMARY"]).split(":")[0] for entry in entries] == [
        "Round", "Look at the repair",
    ]  # fmt: skip
    calendar = icalendar.Calendar.from_ical(Client().get(feed.get_absolute_url()).content)
    assert "Only the first 2 are shown" in str(calendar["DESCRIPTION"])

"""Calendar addresses: what each shows, to whom it answers, and how it is made and renewed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import icalendar
import pytest
import time_machine
import vobject
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from repairs.calendars import feed as feeds
from repairs.models import CalendarFeed, DueDate
from tests import factories as make

NOW = datetime(2026, 5, 5, 9, 0, tzinfo=UTC)
TODAY = NOW.date()
Shows = CalendarFeed.Shows
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]


@pytest.fixture
def now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def feed_of(user: User, of: Any = None, **facts: Any) -> CalendarFeed:
    shows = Shows.PROPERTY if of else facts.pop("shows", Shows.EVERY)
    feed: CalendarFeed = make.CalendarFeedFactory(user=user, shows=shows, property=of, **facts)
    return feed


def read(feed: CalendarFeed) -> list[Any]:
    """Its entries, taken from a stranger's request, read by two parsers."""
    answer = Client().get(feed.get_absolute_url())
    assert answer.status_code == 200
    (calendar,) = vobject.readComponents(answer.text)
    calendar.validate(raiseException=True)
    entries = list(icalendar.Calendar.from_ical(answer.content).walk("VEVENT"))
    told = {entry.uid.value for entry in calendar.contents.get("vevent", [])}
    assert told == {str(entry["UID"]) for entry in entries}
    return entries


def marks(feed: CalendarFeed) -> list[str]:
    return [str(entry["SUMMARY"]).split(": ")[-1].split(",")[0] for entry in read(feed)]


def due_at(mark: str, **facts: Any) -> DueDate:
    due: DueDate = make.DueDateFactory(member__mark=mark, **facts)
    return due


# What it shows


def test_an_entry_tells_what_where_how_to_reach_it_and_where_to_read_on() -> None:
    user = make.make_crew(first_name="Linnet", last_name="Birch")
    due = due_at(
        "S-SILL-003",
        member__position="window 2",
        member__elevation__name="South",
        member__building__name="Granary",
        member__building__property__name="Mill Row",
        member__building__property__address="1 Invented Lane\r\nLarkfield",
        person=user,
    )
    (entry,) = read(feed_of(user))
    assert entry["SUMMARY"] == "Look at the repair: S-SILL-003, Granary"
    assert entry["LOCATION"] == "Granary, Mill Row, 1 Invented Lane, Larkfield"
    assert entry["URL"] == f"http://testserver/due/{due.pk}/"
    assert entry["DTSTART"].dt == due.due_on
    assert entry["STATUS"] == "CONFIRMED"
    assert str(entry["DESCRIPTION"]).splitlines() == [
        "To be done between 21 May and 4 June 2026",
        "Member: S-SILL-003, sill, window 2",
        "Elevation: South; access: ladder",
        "Who is to look: Linnet Birch",
        "Set by: Look at a repair after 1 month",
    ]


def test_an_entry_of_nobody_says_nothing_of_who_is_to_look() -> None:
    due_at("S-1")
    (entry,) = read(feed_of(make.make_crew()))
    assert "Who is to look" not in entry["DESCRIPTION"]


def test_links_lead_where_the_installation_is_opened(settings: Any) -> None:
    settings.BASE_URL = "https://records.example.org"
    due = due_at("S-1")
    (entry,) = read(feed_of(make.make_crew()))
    assert entry["URL"] == f"https://records.example.org/due/{due.pk}/"


def test_an_entry_stands_on_its_day_or_over_its_window() -> None:
    due_at("S-1", due_on=date(2026, 6, 4), window_days=7)
    day, window = (feed_of(make.make_crew(), over_window=over) for over in (False, True))
    (short,), (long,) = read(day), read(window)
    assert (short["DTSTART"].dt, short["DTEND"].dt) == (date(2026, 6, 4), date(2026, 6, 5))
    assert (long["DTSTART"].dt, long["DTEND"].dt) == (date(2026, 5, 28), date(2026, 6, 5))


@pytest.mark.parametrize("day", [date(2028, 2, 29), date(2026, 10, 25), date(2027, 3, 28)])
@pytest.mark.parametrize("zone", ["Europe/London", "America/New_York", "Pacific/Auckland"])
def test_a_leap_day_or_a_change_of_clocks_keeps_its_day(day: date, zone: str) -> None:
    due_at("S-1", due_on=day, member__building__property__time_zone=zone)
    (entry,) = read(feed_of(make.make_crew()))
    assert (entry["DTSTART"].dt, entry["DTEND"].dt) == (day, day + timedelta(days=1))


def test_ones_own_and_everything_and_one_property_are_three_calendars() -> None:
    user = make.make_crew()
    mine, other = due_at("mine", person=user), due_at("other")
    assert marks(feed_of(user, shows=Shows.OWN)) == ["mine"]
    assert sorted(marks(feed_of(user))) == ["mine", "other"]
    assert marks(feed_of(user, other.member.building.property)) == ["other"]
    assert marks(feed_of(user, mine.member.building.property)) == ["mine"]


def test_overdue_dates_stay_until_they_are_answered() -> None:
    due = due_at("late", due_on=date(2019, 5, 1))
    feed = feed_of(make.make_crew())
    assert marks(feed) == ["late"]
    due.answer(TODAY)
    (entry,) = read(feed)
    assert entry["SUMMARY"].startswith("Done: Look at the repair")
    assert "Done on 5 May 2026" in entry["DESCRIPTION"]
    assert entry["STATUS"] == "CONFIRMED"


def test_what_is_called_off_is_shown_cancelled_for_a_year() -> None:
    due, feed = due_at("S-1"), feed_of(make.make_crew())
    due.call_off(TODAY, "scaffold was taken down")
    (entry,) = read(feed)
    assert entry["STATUS"] == "CANCELLED"
    assert entry["SUMMARY"].startswith("Called off: ")
    assert "Called off on 5 May 2026: scaffold was taken down" in entry["DESCRIPTION"]
    with time_machine.travel(NOW + timedelta(days=365), tick=False):
        assert marks(feed) == ["S-1"]
    with time_machine.travel(NOW + timedelta(days=367), tick=False):
        assert read(feed) == []


def test_what_is_called_off_since_its_member_was_replaced_is_cancelled_too() -> None:
    due, feed = due_at("S-1"), feed_of(make.make_crew())
    due.member.removed_on, due.member.removed_reason = TODAY, "replaced"
    due.member.save()
    assert read(feed) == []
    due.call_off(TODAY, "replaced")
    (entry,) = read(feed)
    assert entry["STATUS"] == "CANCELLED"


def test_a_property_that_was_sold_shows_nothing_and_its_address_still_answers() -> None:
    due = due_at("S-1")
    due_at("S-2", member=due.member, done_on=TODAY)
    of = due.member.building.property
    feed = feed_of(make.make_crew(), of)
    assert len(read(feed)) == 2
    of.given_up_on, of.given_up_reason = TODAY, "sold"
    of.save()
    assert read(feed) == []
    assert b"BEGIN:VTIMEZONE\r\nTZID:Europe/London" in Client().get(feed.get_absolute_url()).content


# Kept over changes


def test_a_change_keeps_the_uid_and_raises_the_sequence() -> None:
    due, feed = due_at("S-1"), feed_of(make.make_crew())
    (first,) = read(feed)
    with time_machine.travel(NOW + timedelta(hours=2), tick=False):
        due.move(date(2028, 2, 29), "scaffold stands then", DueDate.SetBy.PERSON)
    (moved,) = read(feed)
    due.person = make.make_crew()
    due.save(update_fields=["person"])
    (given,) = read(feed)
    due.call_off(TODAY, "sold")
    (off,) = read(feed)
    assert {entry["UID"] for entry in (first, moved, given, off)} == {first["UID"]}
    assert [entry["SEQUENCE"] for entry in (first, moved, given, off)] == [0, 1, 2, 3]
    assert first["DTSTAMP"].dt == first["LAST-MODIFIED"].dt == NOW
    assert moved["LAST-MODIFIED"].dt == NOW + timedelta(hours=2)
    assert moved["DTSTART"].dt == date(2028, 2, 29)


def test_a_renewed_address_keeps_the_uids_and_kills_the_old_one(client: Client) -> None:
    user = make.make_crew()
    due_at("S-1")
    feed = feed_of(user)
    old, before = feed.get_absolute_url(), read(feed)
    client.force_login(user)
    assert client.post(reverse("calendar-renew", args=[feed.key])).status_code == 302
    feed.refresh_from_db()
    assert Client().get(old).status_code == 404
    assert feed.renewed_at == NOW
    assert [entry["UID"] for entry in read(feed)] == [entry["UID"] for entry in before]


def test_a_row_without_history_is_an_entry_all_the_same() -> None:
    DueDate.history.all().delete()
    due_at("S-1")
    DueDate.history.all().delete()
    feed = feed_of(make.make_crew())
    (entry,) = read(feed)
    assert (entry["SEQUENCE"], entry["DTSTAMP"].dt) == (0, feed.made_at)


def test_an_unchanged_calendar_is_not_sent_again() -> None:
    due, feed = due_at("S-1"), feed_of(make.make_crew())
    first = Client().get(feed.get_absolute_url())
    again = Client().get(feed.get_absolute_url(), headers={"if-none-match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again["ETag"] == first["ETag"]
    due.move(date(2026, 7, 1), "moved", DueDate.SetBy.PERSON)
    changed = Client().get(feed.get_absolute_url(), headers={"if-none-match": first["ETag"]})
    assert changed.status_code == 200
    assert changed["ETag"] != first["ETag"]


def test_no_date_makes_a_program_keep_what_it_may_not_see_any_more() -> None:
    due = due_at("S-1")
    viewer = make.make_viewer(due.member.building.property)
    feed = feed_of(viewer)
    viewer.person.properties.clear()
    later = "Wed, 01 Jan 2098 00:00:00 GMT"
    answer = Client().get(feed.get_absolute_url(), headers={"if-modified-since": later})
    assert answer.status_code == 200
    assert b"VEVENT" not in answer.content
    assert not answer.has_header("Last-Modified")


def test_a_calendar_is_called_by_what_it_shows() -> None:
    user = make.make_crew(first_name="Linnet", last_name="Birch")
    of = make.PropertyFactory(name="Mill Row")
    for feed, name in ((feed_of(user), "Everything that I may see"), (feed_of(user, of), of.name)):
        calendar = icalendar.Calendar.from_ical(Client().get(feed.get_absolute_url()).content)
        assert calendar["NAME"] == calendar["X-WR-CALNAME"] == f"Makegood: {name}"
        assert "Read by Linnet Birch." in str(calendar["DESCRIPTION"])


# To whom it answers


def test_it_answers_without_a_log_in_and_leaves_no_cookie() -> None:
    feed = feed_of(make.make_crew())
    answer = Client().get(feed.get_absolute_url())
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Cache-Control"] == "private, no-cache"
    assert answer["X-Robots-Tag"] == "noindex"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert not answer.cookies
    assert Client().head(feed.get_absolute_url()).status_code == 200
    assert Client().post(feed.get_absolute_url()).status_code == 405


def test_whose_log_in_it_is_read_with_changes_nothing(client: Client) -> None:
    feed = feed_of(make.make_crew(), shows=Shows.OWN)
    due_at("hers", person=feed.user)
    client.force_login(make.make_manager())
    assert "hers" in client.get(feed.get_absolute_url()).text


def test_a_person_who_left_has_no_calendar() -> None:
    feed = feed_of(make.make_crew())
    feed.user.is_active = False
    feed.user.save()
    assert Client().get(feed.get_absolute_url()).status_code == 404


def test_a_person_without_a_role_has_no_calendar() -> None:
    assert Client().get(feed_of(make.UserFactory()).get_absolute_url()).status_code == 404


def test_a_viewer_reads_only_the_properties_given() -> None:
    given, hidden = due_at("given"), due_at("hidden")
    viewer = make.make_viewer(given.member.building.property)
    assert marks(feed_of(viewer)) == ["given"]
    other = feed_of(viewer, hidden.member.building.property)
    assert Client().get(other.get_absolute_url()).status_code == 404


def test_a_property_taken_away_from_a_viewer_is_gone_from_the_calendar(client: Client) -> None:
    due = due_at("S-1")
    viewer = make.make_viewer(due.member.building.property)
    every, one = feed_of(viewer), feed_of(viewer, due.member.building.property)
    assert marks(every) == marks(one) == ["S-1"]
    viewer.person.properties.clear()
    assert read(every) == []
    assert Client().get(one.get_absolute_url()).status_code == 404
    client.force_login(viewer)
    page = client.get(reverse("calendar-feeds")).text
    assert "its address answers nothing" in page
    assert one.token not in page


@pytest.mark.parametrize(
    "token",
    [
        "x", "A" * 42, "A" * 43, "A" * 44, "a" * 10_000, "../../etc/passwd", "%00" * 43, "é" * 43,
        "' OR 1=1 --", "A" * 42 + "%0a", "%2e" * 43, "٣" * 43, "%",
    ],
)  # fmt: skip
def test_a_guess_is_simply_not_found(token: str) -> None:
    feed_of(make.make_crew())
    answer = Client().get(f"/calendars/{token}.ics")
    assert answer.status_code == 404
    assert "Larch" not in answer.text


def test_a_guess_costs_one_query_and_a_token_of_other_case_is_a_guess() -> None:
    feed = feed_of(make.make_crew())
    with CaptureQueriesContext(connection) as queries:
        answer = Client().get(reverse("calendar-file", args=[feed.token.swapcase()]))
    assert answer.status_code == 404
    assert len(queries) == 1


def test_a_token_is_32_random_bytes() -> None:
    tokens = {feed_of(make.make_crew()).token for _ in range(20)}
    assert len(tokens) == 20
    assert {len(token) for token in tokens} == {43}


# Two thousand entries


def test_two_thousand_entries_take_no_more_queries_than_two() -> None:
    user, member = make.make_crew(), make.MemberFactory()
    feed = feed_of(user)

    def queries(rows: int) -> int:
        make.DueDateFactory.create_batch(rows, member=member, person=user)
        with CaptureQueriesContext(connection) as taken:
            read_in = Client().get(feed.get_absolute_url())
        assert read_in.status_code == 200
        return len(taken)

    few = queries(2)
    assert queries(1998) == few <= 5
    entries = read(feed)
    assert len({entry["UID"] for entry in entries}) == len(entries) == 2000


def test_more_entries_than_a_calendar_is_read_with_are_cut_and_it_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(feeds, "MOST_ENTRIES", 3)
    for month in (9, 7, 6, 8):
        due_at(f"S-{month}", due_on=date(2026, month, 1))
    due_at("done", done_on=TODAY)
    feed = feed_of(make.make_crew())
    assert marks(feed) == ["S-6", "S-7", "S-8"]
    calendar = icalendar.Calendar.from_ical(Client().get(feed.get_absolute_url()).content)
    assert "Only the first 3 are shown" in str(calendar["DESCRIPTION"])


def test_names_of_any_script_and_length_are_read_back() -> None:
    name = "Fenêtre; «Nord», نافذة 窓枠 \u2028\x0b" + "lang " * 30
    due_at("é" * 10, member__building__name=name[:200])
    (entry,) = read(feed_of(make.make_crew()))
    assert "Fenêtre; «Nord», نافذة 窓枠   lang lang" in entry["SUMMARY"]


# The page


@pytest.fixture
def crew(client: Client) -> Any:
    user = make.make_crew()
    client.force_login(user)
    client.user = user  # type: ignore[attr-defined]
    return client


def test_an_empty_page_says_how_to_begin(crew: Any) -> None:
    page = crew.get(reverse("calendar-feeds"))
    assert "You have no calendar address yet." in page.text
    assert "no-store" in page["Cache-Control"]


def test_an_address_is_made_shown_and_removed(crew: Any) -> None:
    crew.post(reverse("calendar-feeds"), {"shows": "own"})
    feed = CalendarFeed.objects.get(user=crew.user)
    page = crew.get(reverse("calendar-feeds")).text
    assert f"http://testserver/calendars/{feed.token}.ics" in page
    assert f"webcal://testserver/calendars/{feed.token}.ics" in page
    crew.post(reverse("calendar-remove", args=[feed.key]))
    assert not CalendarFeed.objects.exists()
    assert Client().get(feed.get_absolute_url()).status_code == 404


def test_made_twice_it_is_one_address_with_the_last_choice(crew: Any) -> None:
    for typed in ({"shows": "every"}, {"shows": "every", "over_window": "on"}):
        crew.post(reverse("calendar-feeds"), typed)
    assert CalendarFeed.objects.get(user=crew.user).over_window


def test_a_calendar_of_one_property_asks_which(crew: Any) -> None:
    page = crew.post(reverse("calendar-feeds"), {"shows": "property"})
    assert "Choose the property that the calendar is to show." in page.text
    assert not CalendarFeed.objects.exists()


def test_the_property_is_chosen_already_where_one_came_from(crew: Any) -> None:
    of = make.PropertyFactory()
    page = crew.get(reverse("calendar-feeds"), {"property": of.pk}).text
    assert f'<option value="{of.pk}" selected>' in page
    crew.post(reverse("calendar-feeds"), {"shows": "property", "property": of.pk})
    assert CalendarFeed.objects.get(user=crew.user).property == of


@pytest.mark.parametrize("number", ["-1", "abc", "9" * 20, "9" * 5000, "a\0b", "٣"])
def test_a_property_that_is_none_is_refused(crew: Any, number: str) -> None:
    typed = {"shows": "property", "property": number}
    assert crew.post(reverse("calendar-feeds"), typed).status_code == 200
    assert crew.get(reverse("calendar-feeds"), {"property": number}).status_code == 200
    assert not CalendarFeed.objects.exists()


def test_a_viewer_makes_no_calendar_of_a_property_not_given(client: Client) -> None:
    client.force_login(make.make_viewer(make.PropertyFactory()))
    typed = {"shows": "property", "property": make.PropertyFactory().pk}
    assert client.post(reverse("calendar-feeds"), typed).context["form"].errors
    assert not CalendarFeed.objects.exists()


def test_nobody_sees_or_renews_the_address_of_another(crew: Any) -> None:
    feed = feed_of(make.make_manager())
    assert feed.token not in crew.get(reverse("calendar-feeds")).text
    for act in ("calendar-renew", "calendar-remove"):
        assert crew.post(reverse(act, args=[feed.key])).status_code == 404
    feed.refresh_from_db()
    assert feed.renewed_at is None


def test_more_addresses_ask_no_more_queries(crew: Any) -> None:
    def count() -> int:
        feed_of(crew.user, make.PropertyFactory())
        with CaptureQueriesContext(connection) as queries:
            crew.get(reverse("calendar-feeds"))
        return len(queries)

    first = count()
    assert [count() for _ in range(5)][-1] == first <= 12

"""The iCalendar file, read by two parsers that did not write it, and octet by octet."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from hypothesis import given
from hypothesis import strategies as st

from repairs.calendars.icalendar_file import Entry, calendar_file, plain
from tests.published import published

LONDON = ZoneInfo("Europe/London")
FACTS = {row["quantity"]: row["value"] for row in published("icalendar")}
ENTRY = Entry(
    uid="11111111-2222-3333-4444-555555555555",
    sequence=2,
    changed_at=datetime(2026, 5, 4, 9, 30, 15, 999, tzinfo=UTC),
    first_on=date(2026, 6, 4),
    last_on=date(2026, 6, 4),
    summary="Look at the repair: S-SILL-003, Granary",
    description="Due on 4 June 2026\nElevation: South; access: ladder",
    place="Granary, Larkfield Yard, 1 Invented Lane, Larkfield",
    kind="Look at the repair",
    url="https://records.example.org/due/12/",
    cancelled=False,
)


def written(*entries: Entry, zone: ZoneInfo = LONDON) -> bytes:
    return calendar_file("Larkfield", "When to look again.", entries, zone)


def by_vobject(content: bytes) -> list[vobject.base.Component]:
    (calendar,) = vobject.readComponents(content.decode())
    calendar.validate(raiseException=True)
    return list(calendar.contents.get("vevent", []))


def by_icalendar(content: bytes) -> list[Any]:
    return list(icalendar.Calendar.from_ical(content).walk("VEVENT"))


def test_an_entry_says_the_same_to_two_parsers() -> None:
    content = written(ENTRY)
    (theirs,), (ours,) = by_vobject(content), by_icalendar(content)
    assert theirs.uid.value == ours["UID"] == ENTRY.uid
    assert int(theirs.sequence.value) == ours["SEQUENCE"] == 2
    assert theirs.dtstart.value == ours["DTSTART"].dt == date(2026, 6, 4)
    assert theirs.dtend.value == ours["DTEND"].dt == date(2026, 6, 5)
    assert theirs.summary.value == ours["SUMMARY"] == ENTRY.summary
    assert theirs.description.value == ours["DESCRIPTION"] == ENTRY.description
    assert theirs.location.value == ours["LOCATION"] == ENTRY.place
    assert theirs.url.value == ours["URL"] == ENTRY.url
    assert theirs.status.value == ours["STATUS"] == "CONFIRMED"
    assert theirs.dtstamp.value == ours["DTSTAMP"].dt == datetime(2026, 5, 4, 9, 30, 15, tzinfo=UTC)
    assert theirs.last_modified.value == ours["DTSTAMP"].dt


def test_the_required_properties_stand_once() -> None:
    calendar, event = written(ENTRY).split(b"BEGIN:VEVENT")
    for name in FACTS["calendar properties"].split():
        assert calendar.count(f"\r\n{name}:".encode()) == 1
    for name in FACTS["event properties"].split():
        assert event.replace(b";VALUE=DATE", b"").count(f"\r\n{name}:".encode()) == 1


def test_what_is_called_off_is_cancelled() -> None:
    (event,) = by_vobject(written(replace(ENTRY, cancelled=True)))
    assert event.status.value == "CANCELLED"


@pytest.mark.parametrize("day", ["London clocks forward 2026", "London clocks back 2026"])
def test_an_all_day_entry_has_no_hour_that_a_change_of_clocks_could_move(day: str) -> None:
    on = date.fromisoformat(FACTS[day])
    content = written(replace(ENTRY, first_on=on, last_on=on))
    (event,) = by_vobject(content)
    assert (event.dtstart.value, event.dtend.value) == (on, on + timedelta(days=1))
    assert f"DTSTART;VALUE=DATE:{on:%Y%m%d}\r\n".encode() in content
    assert b"TZID" not in content


def test_the_29_of_february_ends_before_march() -> None:
    on = date.fromisoformat(FACTS["leap day"])
    (event,) = by_icalendar(written(replace(ENTRY, first_on=on, last_on=on)))
    assert (event["DTSTART"].dt, event["DTEND"].dt) == (on, date(2028, 3, 1))


def test_the_last_day_that_there_is_has_no_day_after_it() -> None:
    (event,) = by_icalendar(written(replace(ENTRY, last_on=date.max, first_on=date.max)))
    assert "DTEND" not in event


def test_a_window_of_days_is_one_entry_over_all_of_them() -> None:
    entry = replace(ENTRY, first_on=date(2026, 5, 21), last_on=date(2026, 6, 18))
    (event,) = by_vobject(written(entry))
    assert (event.dtstart.value, event.dtend.value) == (date(2026, 5, 21), date(2026, 6, 19))


@pytest.mark.parametrize("zone", ["Europe/London", "UTC", "America/New_York", "Asia/Kathmandu"])
def test_an_empty_calendar_still_holds_a_component(zone: str) -> None:
    content = written(zone=ZoneInfo(zone))
    assert by_vobject(content) == []
    (told,) = icalendar.Calendar.from_ical(content).walk("VTIMEZONE")
    assert told["TZID"] == zone


@pytest.mark.parametrize(
    "name",
    [
        "é" * 200,
        "نافذة خشبية",
        "窓枠" * 60,
        "👷🏽‍♀️" * 40,
        'O\'Larch; "Sons", \\n and C:\\yard',
        "x" * 5000,
        "BEGIN:VEVENT",
        "a:b;c=d,e",
    ],
    ids=["accents", "arabic", "kanji", "emoji", "marks", "long", "keyword", "signs"],
)
def test_names_come_back_as_they_were_typed(name: str) -> None:
    content = written(replace(ENTRY, summary=name, description=f"{name}\n{name}"))
    (theirs,), (ours,) = by_vobject(content), by_icalendar(content)
    assert theirs.summary.value == ours["SUMMARY"] == name
    assert theirs.description.value == ours["DESCRIPTION"] == f"{name}\n{name}"


@given(name=st.text(max_size=300))
def test_no_text_breaks_out_of_its_line(name: str) -> None:
    entry = replace(ENTRY, summary=name, description=name, place=name, kind=name)
    content = written(entry)
    lines = content.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= int(FACTS["most octets in a line"]) for line in lines)
    assert not any(mark in content.replace(b"\r\n", b"") for mark in (b"\r", b"\n", b"\0"))
    (event,) = by_icalendar(content)
    assert event["SUMMARY"] == plain(name)
    assert len(by_vobject(content)) == 1


@pytest.mark.parametrize("mark", ["\0", "\v", "\f", "\x1c", "\x85", "\u2028", "\u2029", "\x9f"])
def test_marks_that_a_reader_may_take_for_the_end_of_a_line_become_spaces(mark: str) -> None:
    assert plain(f"a{mark}b") == "a b"


def test_a_line_of_its_own_stays_one_however_it_was_typed() -> None:
    assert plain("a\r\nb\rc\nd\te") == "a\nb\nc\nd\te"

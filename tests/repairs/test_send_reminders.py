"""The mails of a day: to whom, about what, and each once whatever happens."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from io import StringIO
from threading import Barrier, Thread
from typing import Any

import pytest
import time_machine
from django.contrib.auth.models import User
from django.core.mail.backends.locmem import EmailBackend
from django.core.management import CommandError, call_command
from django.db import connection

from properties.models import Person
from repairs.models import DueDate, SentMail
from tests import factories as make

MONDAY = date(2026, 5, 4)
MORROW = MONDAY + timedelta(days=1)
BASE = "https://records.example.org"
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("base_url")]


@pytest.fixture
def base_url(settings: Any) -> None:
    settings.BASE_URL = BASE


def run(on: date = MONDAY, **options: Any) -> str:
    said = StringIO()
    call_command("send_reminders", on=on, stdout=said, stderr=said, **options)
    return said.getvalue()


def manager(**facts: Any) -> Any:
    return make.make_manager(**{"email": "linnet@example.org", **facts})


def wants(user: Any, **choices: Any) -> None:
    Person.objects.update_or_create(user=user, defaults=choices)


def only_weekly(user: Any) -> Any:
    wants(user, weekly_mail=True, day_before_mail=False)
    return user


def due_at(mark: str, due_on: date, **facts: Any) -> DueDate:
    due: DueDate = make.DueDateFactory(member__mark=mark, due_on=due_on, **facts)
    return due


class Breaking(EmailBackend):
    """Takes mails until the nth, and fails there as it is told to."""

    taken = 0
    nth = 2
    error: BaseException = OSError("connection lost")

    def send_messages(self, messages: Any) -> int:
        type(self).taken += 1
        if type(self).taken == type(self).nth:
            raise type(self).error
        return super().send_messages(messages)


@pytest.fixture
def breaking(settings: Any) -> type[Breaking]:
    settings.EMAIL_BACKEND = f"{__name__}.Breaking"
    Breaking.taken, Breaking.nth, Breaking.error = 0, 2, OSError("connection lost")
    return Breaking


# What they say


def test_the_digest_tells_what_is_overdue_and_what_the_week_brings(mailoutbox: Any) -> None:
    only_weekly(manager())
    robin = make.make_crew(first_name="Robin", last_name="Birch")
    due_at("LATE-1", MONDAY - timedelta(days=3), person=robin, member__building__name="Granary",
           member__building__property__name="Mill Row", member__elevation__name="South",
    )  # fmt: skip
    sunday = due_at("SUN-1", MONDAY + timedelta(days=6), kind="repaint")
    due_at("NEXT-1", MONDAY + timedelta(days=7))
    run()
    (mail,) = mailoutbox
    assert mail.to == ["linnet@example.org"]
    assert mail.subject == "Week of Monday, 4 May 2026: 1 to come, 1 overdue"
    assert "One date is overdue:" in mail.body
    assert (
        "Friday, 1 May 2026, overdue by 3 days: look at the repair, LATE-1\n"
        "  Sill of Granary, Mill Row\n"
        "  South elevation; access: ladder\n"
        "  For Robin Birch\n"
    ) in mail.body
    assert "One date falls from Monday, 4 May 2026 to Sunday, 10 May 2026:" in mail.body
    assert "Sunday, 10 May 2026: repaint, SUN-1" in mail.body
    assert f"  {BASE}/due/{sunday.pk}/\n" in mail.body
    assert "NEXT-1" not in mail.body
    assert f"Other mails, or none: {BASE}/mail/" in mail.body


def test_the_mail_on_the_day_before_tells_of_the_morrow_alone(mailoutbox: Any) -> None:
    wants(manager(), weekly_mail=False, day_before_mail=True)
    for days in range(3):
        due_at(f"D-{days}", MONDAY + timedelta(days=days))
    run()
    (mail,) = mailoutbox
    assert mail.subject == "One look or repaint on Tuesday, 5 May 2026"
    assert "D-1" in mail.body
    assert not {"D-0", "D-2"} & set(mail.body.replace("\n", " ").split())


@pytest.mark.parametrize(
    ("on", "due_on"),
    [
        (date(2028, 2, 28), date(2028, 2, 29)),
        (date(2027, 2, 28), date(2027, 3, 1)),
        (date(2026, 3, 28), date(2026, 3, 29)),
        (date(2026, 10, 24), date(2026, 10, 25)),
        (date(2026, 12, 31), date(2027, 1, 1)),
    ],
)
def test_the_day_before_is_right_at_leap_days_and_changes_of_clocks(
    on: date, due_on: date, mailoutbox: Any
) -> None:
    wants(manager(), weekly_mail=False)
    due_at("S-1", due_on)
    run(on)
    assert f"on {due_on:%A}, {due_on:%-d %B %Y}" in mailoutbox[0].subject


def test_nothing_to_say_is_no_mail(mailoutbox: Any) -> None:
    manager()
    due_at("FAR", MONDAY + timedelta(days=30))
    due_at("DONE", MORROW, done_on=MONDAY)
    assert "0 mails sent, 0 sent earlier." in run()
    assert not mailoutbox
    assert not SentMail.objects.exists()


def test_a_sold_property_reminds_nobody(mailoutbox: Any) -> None:
    manager()
    due_at("S-1", MORROW, member__building__property__given_up_on=MONDAY,
           member__building__property__given_up_reason="sold")  # fmt: skip
    run()
    assert not mailoutbox


def test_hundreds_of_dates_are_cut_and_the_rest_is_a_link(mailoutbox: Any) -> None:
    only_weekly(manager())
    make.DueDateFactory.create_batch(63, member=make.MemberFactory(), due_on=MONDAY)
    run()
    (mail,) = mailoutbox
    assert "63 dates fall from Monday" in mail.body
    assert mail.body.count(f"{BASE}/due/") == 50
    assert f"And 13 more: {BASE}/inspections/" in mail.body


def test_a_name_cannot_make_a_line_of_its_own(mailoutbox: Any) -> None:
    only_weekly(manager())
    due_at("S-1", MONDAY, member__building__name="Barn\r\nBcc: all@example.org\u2028x")
    run()
    (mail,) = mailoutbox
    assert "  Sill of Barn  Bcc: all@example.org x, " in mail.body
    assert mail.recipients() == ["linnet@example.org"]


# Rounds


def round_of(person: Any, name: str, walk_on: date, looks: int = 3) -> Any:
    walk = make.RoundFactory(name=name, person=person, walk_on=walk_on)
    place = make.BuildingFactory(property__name="Mill Row")
    for position in range(looks):
        due = make.DueDateFactory(member__building=place, due_on=MONDAY + timedelta(days=60))
        make.RoundStopFactory(round=walk, due=due, position=position)
    return walk


def crew(**facts: Any) -> Any:
    return make.make_crew(**{"email": "robin@example.org", "first_name": "Robin",
                             "last_name": "Birch", **facts})  # fmt: skip


def test_the_mail_on_the_day_before_tells_of_the_round_of_the_morrow(mailoutbox: Any) -> None:
    robin = crew()
    wants(robin, weekly_mail=False)
    walk = round_of(robin, "Mill Row, ladders", MORROW)
    round_of(robin, "Today's", MONDAY)
    round_of(robin, "Later", MORROW + timedelta(days=1))
    assert "1 mail sent, 0 sent earlier." in run()
    assert "0 mails sent, 1 sent earlier." in run()
    (mail,) = mailoutbox
    assert mail.subject == "One round on Tuesday, 5 May 2026"
    assert (
        "One round to walk:\n"
        "\n"
        "Tuesday, 5 May 2026: Mill Row, ladders, three looks to do\n"
        "  At Mill Row\n"
        "  For Robin Birch\n"
        f"  {BASE}/rounds/{walk.pk}/\n"
    ) in mail.body
    assert "Today's" not in mail.body
    assert "Later" not in mail.body


def test_a_round_and_dates_of_one_day_share_one_mail(mailoutbox: Any) -> None:
    robin = crew()
    wants(robin, weekly_mail=False)
    round_of(robin, "Ladders", MORROW)
    due_at("S-1", MORROW, person=robin)
    run()
    (mail,) = mailoutbox
    assert mail.subject == "One round, one look or repaint on Tuesday, 5 May 2026"
    assert mail.body.index("One round to walk:") < mail.body.index("One date falls on")


def test_the_digest_tells_of_the_weeks_rounds_and_of_those_past_their_day(
    mailoutbox: Any,
) -> None:
    only_weekly(manager())
    robin = crew(email="")
    round_of(robin, "Late", MONDAY - timedelta(days=2))
    round_of(None, "Sunday's", MONDAY + timedelta(days=6))
    round_of(robin, "Next week's", MONDAY + timedelta(days=7))
    run()
    (mail,) = mailoutbox
    assert mail.subject == "Week of Monday, 4 May 2026: 0 to come, 0 overdue, two rounds"
    assert "Saturday, 2 May 2026, 2 days past its day: Late, three looks to do" in mail.body
    assert "Sunday, 10 May 2026: Sunday's, three looks to do" in mail.body
    assert "Next week's" not in mail.body


def test_a_round_that_is_done_or_ended_is_in_no_mail(mailoutbox: Any) -> None:
    manager()
    done, ended = round_of(None, "Done", MORROW, looks=1), round_of(None, "Ended", MORROW)
    done.stops.get().due.answer(MONDAY)
    ended.ended_on, ended.ended_because = MONDAY, "storm"
    ended.save()
    assert "0 mails sent" in run()
    assert not mailoutbox


def test_crew_hear_of_their_own_rounds_managers_of_all_and_viewers_of_none(
    mailoutbox: Any,
) -> None:
    robin = crew()
    manager()
    mine, hers = round_of(robin, "Mine", MORROW), round_of(make.make_crew(), "Hers", MORROW)
    viewer = make.make_viewer(email="viewer@example.org")
    for walk in (mine, hers):
        viewer.person.properties.add(walk.stops.first().due.member.building.property)
    wants(viewer, day_before_mail=True)
    for user in (robin, User.objects.get(email="linnet@example.org")):
        wants(user, weekly_mail=False)
    run()
    told = {mail.to[0]: [name for name in ("Mine", "Hers") if f": {name}," in mail.body]
            for mail in mailoutbox}  # fmt: skip
    assert told == {"robin@example.org": ["Mine"], "linnet@example.org": ["Mine", "Hers"]}


def test_the_name_of_a_round_cannot_make_a_line_of_its_own(mailoutbox: Any) -> None:
    wants(manager(), weekly_mail=False)
    round_of(None, "Mill\r\nBcc: all@example.org\u2028بيت <b>", MORROW)
    run()
    assert ": Mill  Bcc: all@example.org بيت <b>, three looks to do\n" in mailoutbox[0].body


# To whom


def test_managers_hear_of_everything_crew_of_their_own_and_viewers_of_nothing(
    mailoutbox: Any,
) -> None:
    robin = make.make_crew(email="robin@example.org")
    mine, other = due_at("MINE", MORROW, person=robin), due_at("OTHER", MORROW)
    manager()
    make.make_viewer(other.member.building.property, email="viewer@example.org")
    run()
    told = {(mail.to[0], mark) for mail in mailoutbox for mark in ("MINE", "OTHER")
            if mark in mail.body}  # fmt: skip
    assert told == {
        ("linnet@example.org", "MINE"), ("linnet@example.org", "OTHER"),
        ("robin@example.org", "MINE"),
    }  # fmt: skip
    assert mine.person == robin


def test_a_viewer_who_asks_is_told_of_the_properties_given(mailoutbox: Any) -> None:
    given = due_at("GIVEN", MORROW)
    due_at("HIDDEN", MORROW)
    viewer = make.make_viewer(given.member.building.property, email="viewer@example.org")
    wants(viewer, day_before_mail=True)
    run()
    (mail,) = mailoutbox
    assert "GIVEN" in mail.body
    assert "HIDDEN" not in mail.body


def test_who_left_and_who_has_no_role_and_who_has_no_address_get_none(mailoutbox: Any) -> None:
    due_at("S-1", MORROW)
    manager(is_active=False)
    make.UserFactory(email="nobody@example.org")
    manager(email="")
    assert "1 person has no mail address." in run()
    assert not mailoutbox


# Each once


def test_run_twice_it_sends_once(mailoutbox: Any) -> None:
    manager()
    due_at("S-1", MORROW)
    assert "2 mails sent, 0 sent earlier." in run()
    assert "0 mails sent, 2 sent earlier." in run()
    assert len(mailoutbox) == SentMail.objects.count() == 2


def test_the_digest_waits_for_the_chosen_day_and_a_missed_one_is_made_good(
    mailoutbox: Any,
) -> None:
    user = manager()
    wants(user, weekly_mail=True, weekly_mail_day=2, day_before_mail=False)
    due_at("S-1", MONDAY - timedelta(days=3))
    thursday = MONDAY + timedelta(days=3)
    run(thursday)
    for days in range(1, 6):
        run(thursday + timedelta(days=days))
    assert len(mailoutbox) == 1
    run(thursday + timedelta(days=6))
    assert len(mailoutbox) == 2
    weeks = SentMail.objects.order_by("for_day").values_list("for_day", flat=True)
    assert list(weeks) == [date(2026, 5, 6), date(2026, 5, 13)]


def test_a_mail_is_known_by_its_person_kind_and_day(mailoutbox: Any) -> None:
    user = manager()
    due_at("S-1", MORROW)
    run()
    assert {mail.extra_headers["Message-ID"] for mail in mailoutbox} == {
        f"<weekly.{user.pk}.2026-05-04@records.example.org>",
        f"<day_before.{user.pk}.2026-05-05@records.example.org>",
    }
    assert mailoutbox[0].message()["Auto-Submitted"] == "auto-generated"


def test_killed_half_way_it_sends_the_rest_next_time_and_nothing_twice(
    breaking: type[Breaking], mailoutbox: Any
) -> None:
    due_at("S-1", MORROW)
    for number in range(4):
        wants(manager(email=f"p{number}@example.org"), weekly_mail=False)
    breaking.nth, breaking.error = 3, KeyboardInterrupt()
    with pytest.raises(KeyboardInterrupt):
        run()
    assert SentMail.objects.count() == len(mailoutbox) == 2
    assert "2 mails sent, 2 sent earlier." in run()
    assert sorted(mail.to[0] for mail in mailoutbox) == [f"p{n}@example.org" for n in range(4)]


def test_one_address_that_fails_holds_up_no_other(
    breaking: type[Breaking], mailoutbox: Any
) -> None:
    due_at("S-1", MORROW)
    for number in range(3):
        wants(manager(email=f"p{number}@example.org"), weekly_mail=False)
    said = StringIO()
    with pytest.raises(CommandError, match="1 mail could not be sent; run it again") as error:
        call_command("send_reminders", on=MONDAY, stdout=said, stderr=said)
    assert error.value.returncode == 1
    assert "Not sent to p1@example.org" in said.getvalue()
    assert "connection lost" in said.getvalue()
    assert [mail.to[0] for mail in mailoutbox] == ["p0@example.org", "p2@example.org"]
    run()
    assert [mail.to[0] for mail in mailoutbox][2:] == ["p1@example.org"]


def test_an_address_that_breaks_the_header_fails_alone(mailoutbox: Any) -> None:
    due_at("S-1", MORROW)
    for email in ("a@example.org\nBcc: all@example.org", "b@example.org"):
        wants(manager(email=email), weekly_mail=False)
    with pytest.raises(CommandError, match="1 mail could not be sent"):
        run()
    assert [mail.to for mail in mailoutbox] == [["b@example.org"]]


@pytest.mark.django_db(transaction=True)
def test_two_runs_at_the_same_time_send_each_mail_once(mailoutbox: Any) -> None:
    due_at("S-1", MORROW)
    for number in range(6):
        wants(manager(email=f"p{number}@example.org"), weekly_mail=False)
    start, wrong = Barrier(2), []

    def one_run() -> None:
        start.wait()
        try:
            run()
        except Exception as error:
            wrong.append(error)
        finally:
            connection.close()

    runs = [Thread(target=one_run) for _ in range(2)]
    for each in runs:
        each.start()
    for each in runs:
        each.join()
    assert wrong == []
    assert sorted(mail.to[0] for mail in mailoutbox) == [f"p{n}@example.org" for n in range(6)]
    assert SentMail.objects.count() == 6


# The command


def test_a_dry_run_says_what_it_would_send_and_sends_and_writes_nothing(mailoutbox: Any) -> None:
    manager()
    due_at("S-1", MORROW)
    said = run(dry_run=True)
    assert "Would send to linnet@example.org: Week of Monday, 4 May 2026" in said
    assert "4 May 2026: 2 mails to send, 0 sent earlier." in said
    assert not mailoutbox
    assert not SentMail.objects.exists()


def test_without_a_base_address_it_fails_loudly_once_there_is_something_to_send(
    settings: Any, mailoutbox: Any
) -> None:
    settings.BASE_URL = ""
    manager()
    assert "0 mails sent" in run()
    due_at("S-1", MORROW)
    with pytest.raises(CommandError, match="MAKEGOOD_BASE_URL is not set"):
        run()
    assert not mailoutbox
    assert not SentMail.objects.exists()


@pytest.mark.parametrize(("zone", "day"), [("UTC", 4), ("Pacific/Midway", 3), ("Asia/Tokyo", 5)])
def test_the_day_is_that_of_the_installation(
    settings: Any, mailoutbox: Any, zone: str, day: int
) -> None:
    """20:30 UTC on 4 May is still the 4th there, but the 5th in Tokyo; 03:30 is the 3rd on
    Midway."""
    settings.TIME_ZONE = zone
    wants(manager(), weekly_mail=False)
    due_at("S-1", date(2026, 5, day + 1))
    hour = 3 if zone == "Pacific/Midway" else 20
    with time_machine.travel(datetime(2026, 5, 4, hour, 30, tzinfo=UTC), tick=False):
        call_command("send_reminders", stdout=StringIO())
    assert len(mailoutbox) == 1


@pytest.mark.parametrize("text", ["yesterday", "2026-02-30", "4 May 2026", ""])
def test_a_day_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(CommandError, match="is no day; write one as 2026-05-04"):
        call_command("send_reminders", f"--on={text}")


def test_more_dates_ask_no_more_queries(django_assert_max_num_queries: Any) -> None:
    only_weekly(manager())
    make.DueDateFactory.create_batch(3, due_on=MONDAY)
    make.DueDateFactory.create_batch(40, due_on=MONDAY - timedelta(days=40))
    for number in range(20):
        round_of(make.make_crew(), f"Round {number}", MONDAY)
    with django_assert_max_num_queries(15):
        run()

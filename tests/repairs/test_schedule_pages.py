"""Due dates as pages: one date, the list, the calendar."""

import csv
import html
import io
import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from repairs.models import DueDate, DueRule, Inspection
from repairs.models.due_dates import DueKind
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


def queries(client: Client, url: str) -> int:
    with CaptureQueriesContext(connection) as found:
        assert client.get(url).status_code == 200
    return len(found)


# Due dates


def test_a_due_date_says_who_set_it_and_what_comes_after(manager: Client) -> None:
    page = manager.get(due_look().get_absolute_url()).content.decode()
    assert "Look at a repair after 1 month" in page
    assert "4 November 2026, 4 May 2027, 4 May 2028" in page


def test_a_date_moves_with_a_reason_and_is_given_to_a_person(manager: Client) -> None:
    due, who = due_look(), make.make_crew()
    url = reverse("due-edit", args=[due.pk])
    refused = manager.post(url, {"due_on": "2026-07-01", "person": who.pk})
    assert "reason" in refused.context["move"].errors
    manager.post(url, {"due_on": "2026-07-01", "person": who.pk, "reason": "access then"})
    due.refresh_from_db()
    assert (due.due_on, due.person) == (date(2026, 7, 1), who)
    assert due.set_because == "Set by Ash Rowan: access then"


@pytest.mark.parametrize("day", ["1825-01-01", "2225-01-01", "2026-06-03", "never"])
def test_a_date_is_not_moved_to_an_absurd_day(manager: Client, day: str) -> None:
    due = due_look()
    page = manager.post(reverse("due-edit", args=[due.pk]), {"due_on": day, "reason": "x"})
    assert "due_on" in page.context["move"].errors


def test_a_date_is_called_off_with_a_reason(manager: Client) -> None:
    due = due_look()
    url = reverse("due-edit", args=[due.pk])
    refused = manager.post(url, {"act": "call-off"})
    assert "off_reason" in refused.context["call_off"].errors
    manager.post(url, {"act": "call-off", "off_reason": "boarded over"})
    due.refresh_from_db()
    assert due.cancelled_reason == "boarded over"
    assert manager.post(url, {"due_on": "2026-07-01", "reason": "x"}).status_code == 302


def test_a_person_plans_a_date_that_comes_back_by_the_rule(manager: Client) -> None:
    member = make.MemberFactory()
    manager.post(
        reverse("due-new", args=[member.pk]),
        {"kind": "member_look", "due_on": "2026-09-15", "reason": "storm", "comes_back": "on"},
    )
    due = DueDate.objects.get()
    assert (due.due_on, due.set_because) == (date(2026, 9, 15), "Set by Ash Rowan: storm")
    manager.post(address(due=due.pk), typed(due, looked_on="2026-06-04"))
    assert DueDate.objects.outstanding().get().due_on == date(2027, 5, 31)


def test_a_planned_look_at_a_repair_names_the_repair(manager: Client) -> None:
    page = manager.post(
        reverse("due-new", args=[make.MemberFactory().pk]),
        {"kind": "repair_look", "due_on": "2026-09-15", "reason": "storm"},
    )
    assert "repair" in page.context["form"].errors


# The list


def listed(client: Client, **query: Any) -> list[str]:
    table = client.get(reverse("inspection-list"), query).context["table"]
    return [str(row.record.member.mark) for row in table.rows]


def test_the_list_begins_with_a_sentence(crew: Client) -> None:
    make.DueDateFactory.create_batch(
        4, due_on=date(2026, 5, 3), member__building=make.BuildingFactory(property__name="Mill Row")
    )
    page = crew.get(reverse("inspection-list")).content.decode()
    assert "Four looks are overdue at Mill Row; the oldest since 3 May 2026." in page


def test_the_list_shows_overdue_next_later_done_and_called_off(crew: Client) -> None:
    days = {"late": date(2026, 5, 1), "soon": date(2026, 7, 1), "far": date(2030, 1, 1)}
    for mark, day in days.items():
        make.DueDateFactory(member__mark=mark, due_on=day)
    make.DueDateFactory(member__mark="off", cancelled_on=TODAY, cancelled_reason="gone")
    make.InspectionFactory(member__mark="seen")
    assert listed(crew) == ["late", "soon"]
    assert listed(crew, state="overdue") == ["late"]
    assert listed(crew, state="next") == ["soon"]
    assert listed(crew, state="later") == ["far"]
    assert listed(crew, state="done") == ["seen"]
    assert listed(crew, state="off") == ["off"]


def test_the_list_filters_by_property_day_person_kind_and_mark(crew: Client) -> None:
    who = make.make_crew()
    wanted = make.DueDateFactory(
        member__mark="wanted", person=who, kind=DueKind.REPAINT, due_on=date(2026, 8, 1)
    )
    make.DueDateFactory(member__mark="other", due_on=date(2026, 9, 1))
    place = wanted.member.building.property.pk
    for query in (
        {"property": place}, {"person": who.pk}, {"kind": "repaint"}, {"mark": "want"},
        {"first": "2026-08-01", "until": "2026-08-31"},
    ):  # fmt: skip
        assert listed(crew, **query) == ["wanted"]


def test_done_looks_filter_by_the_person_who_looked(crew: Client) -> None:
    who = make.make_crew()
    make.InspectionFactory(member__mark="mine", looked_by=who)
    make.InspectionFactory(member__mark="other")
    assert listed(crew, state="done", person=who.pk) == ["mine"]


@pytest.mark.parametrize(
    "query",
    [
        {"first": "2026-09-01", "until": "2026-08-01"}, {"first": "1825-01-01"},
        {"until": "2225-01-01"}, {"first": "x"}, {"property": "99999"}, {"state": "odd"},
        {"page": "9999"}, {"sort": "nothing"}, {"person": "0"},
    ],
)  # fmt: skip
def test_a_filter_that_makes_no_sense_shows_all_and_says_so(
    crew: Client, query: dict[str, str]
) -> None:
    make.DueDateFactory(member__mark="here")
    assert listed(crew, **query) == ["here"]


def test_the_list_downloads_and_no_cell_becomes_a_formula(crew: Client) -> None:
    make.DueDateFactory(member__mark="=1+1", due_on=date(2026, 5, 1))
    answer = crew.get(reverse("inspection-list"), {"_export": "csv"})
    rows = list(csv.reader(io.StringIO(answer.content.decode())))
    assert rows[1][0] == "'=1+1"
    assert rows[1][3:5] == ["2026-05-01", "Overdue, 34 days"]
    assert crew.get(reverse("inspection-list"), {"_export": "xlsx"}).content[:2] == b"PK"
    done = crew.get(reverse("inspection-list"), {"_export": "csv", "state": "done"})
    assert done["Content-Disposition"].endswith('looks-2026-06-04.csv"')


def test_the_lists_queries_do_not_grow_with_its_rows(crew: Client) -> None:
    counts = []
    for rows in (3, 27):
        for _ in range(rows):
            make.InspectionFactory(due=make.DueDateFactory())
            make.DueDateFactory(person=make.UserFactory())
        url = reverse("inspection-list")
        counts.append([queries(crew, f"{url}?state={state}") for state in ("", "done")])
    assert counts[0] == counts[1]
    assert max(counts[0]) <= 12


def test_a_property_of_400_rows_is_paged(crew: Client) -> None:
    building = make.BuildingFactory()
    for number in range(400):
        member = make.MemberFactory(building=building, mark=f"M-{number:03}", elevation=None)
        make.DueDateFactory(member=member, due_on=TODAY + timedelta(days=number % 300))
    page = crew.get(reverse("inspection-list"), {"page": 8})
    assert "Rows 351 to 400 of 400" in page.content.decode()


# The calendar


def test_the_calendar_shows_twelve_months_from_this_one(crew: Client) -> None:
    make.DueDateFactory.create_batch(2, due_on=date(2026, 11, 4))
    page = crew.get(reverse("inspection-calendar"))
    months = page.context["months"]
    assert (months[0].first, months[-1].last) == (date(2026, 6, 1), date(2027, 5, 31))
    assert "4 November: 2 dates" in page.content.decode()
    assert "first=2026-11-04&amp;until=2026-11-04" in page.content.decode()


def test_the_calendar_filters_by_property(crew: Client) -> None:
    due = make.DueDateFactory(due_on=date(2026, 7, 1))
    make.DueDateFactory(due_on=date(2026, 7, 2))
    page = crew.get(reverse("inspection-calendar"), {"property": due.member.building.property.pk})
    assert [month.total for month in page.context["months"]][:2] == [0, 1]


def test_the_calendars_queries_do_not_grow_with_its_days(crew: Client) -> None:
    url = reverse("inspection-calendar")
    few = queries(crew, url)
    for number in range(30):
        make.DueDateFactory(due_on=TODAY + timedelta(days=number))
    assert queries(crew, url) == few <= 12


def test_a_look_page_has_a_bounded_number_of_queries(crew: Client) -> None:
    due = due_look()
    crew.post(address(due=due.pk), typed(due, moisture_pct="15", flaking="1"))
    assert queries(crew, Inspection.objects.get().get_absolute_url()) <= 12
    assert queries(crew, due.get_absolute_url()) <= 12


def test_the_database_lets_a_date_be_answered_once(crew: Client) -> None:
    due = due_look()
    make.InspectionFactory(due=due, result="not_reached")
    make.InspectionFactory(due=due)
    with pytest.raises(IntegrityError), transaction.atomic():
        make.InspectionFactory(due=due)


def test_every_link_on_these_pages_leads_somewhere(manager: Client) -> None:
    due, look = due_look(), make.InspectionFactory()
    make.DueDateFactory(member=look.member, due_on=date(2026, 7, 1))
    rule = DueRule.objects.get(code="door-look")
    pages = [
        "/", "/inspections/", "/inspections/calendar/", address(due=due.pk),
        look.get_absolute_url(), due.get_absolute_url(), f"/due/{due.pk}/edit/", "/rules/",
        f"/rules/{rule.pk}/", f"/members/{due.member.pk}/interval/",
    ]  # fmt: skip
    links = {
        html.unescape(link)
        for page in pages
        for link in re.findall(r'href="(/[^"#]*)"', manager.get(page).content.decode())
        if not link.startswith("/static/")
    }
    assert len(links) > 20
    answers = {link: manager.get(link).status_code for link in links}
    assert {link: status for link, status in answers.items() if status != 200} == {}


def test_the_pages_of_a_member_and_a_repair_say_what_comes_after_a_date(crew: Client) -> None:
    due = due_look(due_on=date(2026, 6, 4), counted_from=date(2026, 5, 4))
    assert due.repair is not None
    member = crew.get(due.member.get_absolute_url()).content.decode()
    assert "4 November 2026" in member
    assert "4 May 2028" in member
    repair = crew.get(due.repair.get_absolute_url()).content.decode()
    assert "Then 4 November 2026, 4 May 2027, 4 May 2028, if all is sound" in repair


def test_an_own_interval_sets_what_comes_after_a_date(crew: Client) -> None:
    due = due_look(due_on=date(2026, 6, 4), counted_from=date(2026, 5, 4))
    make.MemberIntervalFactory(member=due.member, kind=due.kind, months=3)
    page = crew.get(due.member.get_absolute_url()).content.decode()
    assert "4 November 2026" in page
    assert "4 February 2027" in page


def test_the_dates_of_a_property_open_from_its_page(crew: Client) -> None:
    due = due_look(due_on=date(2026, 6, 1))
    place = due.member.building.property
    for number in range(9):
        make.DueDateFactory(member=due.member, due_on=date(2026, 6, 2 + number))
    make.DueDateFactory(member__mark="elsewhere", due_on=date(2026, 6, 1))
    page = crew.get(place.get_absolute_url()).content.decode()
    there = html.unescape(re.findall(r'href="([^"]+)">All of this property', page)[0])
    shown = crew.get(there).content.decode()
    assert "N-SILL-03" in shown
    assert "elsewhere" not in shown


def test_a_repair_is_dated_by_the_clock_on_site(manager: Client) -> None:
    """Nine in the evening in New York is the next day in Greenwich."""
    member = make.MemberFactory(building__property__time_zone="America/New_York")
    evening = datetime(2026, 5, 5, 1, 0, tzinfo=UTC)
    repair = make.RepairFactory(member=member, began_at=evening)
    due = make.DueDateFactory(member=member, repair=repair)
    look = make.InspectionFactory(member=member, repair=repair, due=due)
    for page in (
        reverse("due-new", args=[member.pk]),
        due.get_absolute_url(),
        address(due=due.pk),
        look.get_absolute_url(),
    ):
        shown = manager.get(page).content.decode()
        assert "4 May 2026" in shown, page
        assert "5 May 2026" not in shown, page

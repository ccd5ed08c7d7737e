"""The list of defects: what is still to make good, wherever it is."""

from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.factories import DefectFactory, MemberFactory, make_manager, make_viewer

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make_manager())
    return client


def marks(client: Client, **query: str) -> list[str]:
    response = client.get(reverse("defect-list"), query)
    assert response.status_code == 200
    return [row.record.member.mark for row in response.context["table"].rows]


def on(mark: str, **kwargs: object) -> None:
    DefectFactory(member__mark=mark, **kwargs)


def test_what_is_still_to_make_good_stands_there_the_most_urgent_first(manager: Client) -> None:
    on("later", urgency="UC1")
    on("now", urgency="UC3")
    on("watched", urgency="UC2", state="watched")
    on("done", state="made_good", closed_on=date(2026, 5, 1))
    on("down", member__building__demolished_on=date(2026, 5, 1))
    assert marks(manager) == ["now", "watched", "later"]
    assert marks(manager, state="made_good") == ["done"]
    assert len(marks(manager, state="all")) == 5


def test_place_urgency_and_words_narrow_it_together(manager: Client) -> None:
    wanted = MemberFactory(mark="N-SILL-03", building__property__name="Mill Row")
    DefectFactory(member=wanted, urgency="UC2", kind="split")
    DefectFactory(member=wanted, urgency="UC2", kind="decay")
    DefectFactory(member=wanted, urgency="", kind="split")
    on("other", urgency="UC2", kind="split")
    here = str(wanted.building.property_id)
    assert marks(manager, property=here, urgency="UC2", q="split mill") == ["N-SILL-03"]
    assert marks(manager, urgency="none") == ["N-SILL-03"]


def test_the_download_holds_every_page_of_what_was_chosen(manager: Client) -> None:
    member = MemberFactory()
    DefectFactory.create_batch(60, member=member, urgency="UC3")
    on("other", urgency="UC1")
    path = reverse("defect-list")
    found = manager.get(path, {"urgency": "UC3", "page": "2", "sort": "-found_on"})
    assert "60 defects are listed" in found.content.decode()
    sheet = manager.get(path, {"urgency": "UC3", "page": "2", "_export": "csv"})
    lines = sheet.content.decode().splitlines()
    assert len(lines) == 61
    assert "UC3 – urgent and immediate" in lines[1]


def test_a_viewer_finds_only_defects_of_the_properties_given(client: Client) -> None:
    mine = DefectFactory(member__mark="mine")
    on("other")
    client.force_login(make_viewer(mine.member.building.property))
    assert marks(client) == ["mine"]


def test_the_queries_do_not_grow_with_the_defects(manager: Client) -> None:
    counts = []
    for rows in (3, 27):
        for number in range(rows):
            on(f"mark-{rows}-{number}")
        with CaptureQueriesContext(connection) as found:
            marks(manager)
        counts.append(len(found))
    assert counts[0] == counts[1] <= 12

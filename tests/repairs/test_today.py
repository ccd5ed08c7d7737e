"""The first screen: what is overdue, what is curing, what comes next."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from materials.models import Movement
from repairs.models import Repair
from repairs.stories.today_page import today_page
from tests import factories as make

NOW = datetime(2026, 5, 5, 9, 0, tzinfo=UTC)
TODAY = NOW.date()
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]


@pytest.fixture
def now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def crew(client: Client) -> Client:
    client.force_login(make.make_crew())
    return client


def read(client: Client) -> str:
    return str(client.get(reverse("today")).content.decode())


def at_mill_row(**kwargs: Any) -> Any:
    return make.MemberFactory(building=make.BuildingFactory(property__name="Mill Row"), **kwargs)


def test_the_sentence_answers_what_is_overdue_what_is_curing_and_what_is_next(
    crew: Client,
) -> None:
    sill = at_mill_row(mark="N-SILL-03")
    make.DueDateFactory.create_batch(4, member=sill, due_on=date(2026, 5, 3))
    make.DueDateFactory(member=sill, due_on=date(2026, 5, 20))
    make.StageFactory(
        repair=make.RepairFactory(member=sill), ready_at=datetime(2026, 5, 5, 13, 30, tzinfo=UTC)
    )
    page = crew.get(reverse("today")).context["page"]
    assert page.lead == (
        "Four looks are overdue at Mill Row; the oldest since 3 May 2026. "
        "One cure runs; the next is ready at 14:30 on 5 May. Next is N-SILL-03, on 20 May."
    )


def test_an_empty_day_says_so(crew: Client) -> None:
    at_mill_row()
    assert "Nothing is overdue. Nothing is curing. Nothing falls in the next 30 days." in read(crew)


def test_an_empty_installation_says_how_to_begin(client: Client) -> None:
    client.force_login(make.make_manager())
    page = read(client)
    assert "Enter the first property" in page
    assert "How to begin" in page


def test_a_cure_is_ready_by_the_clock_on_site(crew: Client) -> None:
    """20:00 in London on the eve of the clocks going back, and 12 h: 07:00 GMT."""
    make.StageFactory(
        repair__member=at_mill_row(), ready_at=datetime(2026, 10, 25, 7, 0, tzinfo=UTC)
    )
    york = make.MemberFactory(
        building__property__time_zone="America/New_York", building__property__name="Elm Street"
    )
    make.StageFactory(repair__member=york, ready_at=datetime(2026, 5, 6, 1, 0, tzinfo=UTC))
    page = read(crew)
    assert "Ready at 07:00 on 25 October" in page
    assert "Ready at 21:00 on 5 May" in page


@pytest.mark.parametrize("page", ["today", "inspection-list", "inspection-calendar"])
def test_the_day_ends_by_the_clock_of_the_installation(
    crew: Client, settings: Any, page: str
) -> None:
    """09:00 UTC on 5 May is still 4 May on Midway, so what is due on the 4th is not overdue."""
    settings.TIME_ZONE = "Pacific/Midway"
    make.DueDateFactory(member=at_mill_row(), due_on=date(2026, 5, 4))
    assert "Nothing is overdue." in crew.get(reverse(page)).content.decode()


def test_what_became_ready_in_the_last_day_is_shown_and_then_no_more(crew: Client) -> None:
    for hours, mark in ((23, "fresh"), (25, "stale")):
        make.StageFactory(repair__member__mark=mark, ready_at=NOW - timedelta(hours=hours))
    page = read(crew)
    assert "fresh" in page
    assert "stale" not in page


def test_a_withdrawn_repair_cures_no_more(crew: Client) -> None:
    make.StageFactory(
        repair__state=Repair.State.WITHDRAWN, repair__member__mark="gone",
        ready_at=NOW + timedelta(hours=5),
    )  # fmt: skip
    assert "gone" not in read(crew)


def test_each_section_shows_ten_and_how_many_there_are(crew: Client) -> None:
    make.DueDateFactory.create_batch(13, due_on=date(2026, 5, 1))
    make.DueDateFactory.create_batch(2, due_on=date(2026, 5, 9))
    found = crew.get(reverse("today"))
    page = found.context["page"]
    assert (len(page.overdue.rows), page.overdue.total) == (10, 13)
    assert (len(page.coming.rows), page.coming.total) == (2, 2)
    assert "All 13" in found.content.decode()


def test_a_sold_property_reminds_nobody(crew: Client) -> None:
    due = make.DueDateFactory(member__mark="sold", due_on=date(2026, 5, 1))
    place = due.member.building.property
    place.given_up_on, place.given_up_reason = TODAY, "sold"
    place.save()
    assert "sold" not in read(crew)


def test_defects_stand_in_order_of_urgency(crew: Client) -> None:
    for urgency in ("UC1", "", "UC3", "UC2"):
        make.DefectFactory(member__mark=f"mark-{urgency or 'none'}", urgency=urgency)
    rows = crew.get(reverse("today")).context["rows"].defects
    assert [row.name for row in rows] == ["mark-UC3", "mark-UC2", "mark-UC1", "mark-none"]


def lots_of(user: Any) -> list[tuple[str, str]]:
    from repairs.stories.today_words import lot_state

    return [(lot.number, lot_state(lot, TODAY)[1]) for lot in today_page(user, NOW).lots.rows]


def test_lots_that_expire_run_low_or_need_a_count_are_shown() -> None:
    later = date(2027, 6, 30)
    make.LotFactory(number="old", expires_on=date(2026, 5, 3))
    make.LotFactory(number="soon", expires_on=date(2026, 5, 15))
    make.LotFactory(number="low", received=100, low_below=Decimal(200), expires_on=later)
    over = make.LotFactory(number="over", received=100, expires_on=later)
    over.move(Movement.Kind.USED, Decimal(-150), NOW, None)
    spent = make.LotFactory(number="spent", received=100, expires_on=date(2026, 5, 15))
    spent.move(Movement.Kind.USED, Decimal(-100), NOW, None)
    make.LotFactory(number="well", expires_on=later)
    assert lots_of(make.make_crew()) == [
        ("soon", "Expires in 10 days"), ("low", "Runs low"), ("over", "Count needed"),
        ("old", "Expired 2 days ago"),
    ]  # fmt: skip


def test_viewers_see_no_stores_and_only_their_properties(client: Client) -> None:
    make.LotFactory(number="old", expires_on=date(2026, 5, 3))
    mine, other = (
        make.DueDateFactory(member__mark=mark, due_on=date(2026, 5, 1))
        for mark in ("mine", "other")
    )
    viewer = make.make_viewer(mine.member.building.property)
    client.force_login(viewer)
    page = read(client)
    assert "mine" in page
    assert other.member.mark not in page
    assert "In the stores" not in page
    assert lots_of(viewer) == []


def test_only_ones_own_kept_drafts_are_shown(client: Client) -> None:
    me = make.make_crew()
    make.DraftFactory(user=me, kept=True, member=at_mill_row(mark="mine"))
    make.DraftFactory(user=me, kept=False, member=at_mill_row(mark="not-kept"))
    make.DraftFactory(kept=True, member=at_mill_row(mark="hers"))
    client.force_login(me)
    page = read(client)
    assert "mine" in page
    assert "not-kept" not in page
    assert "hers" not in page


def test_a_remark_that_holds_waits_until_somebody_gives_a_word(crew: Client) -> None:
    held = make.KeptRemarkFactory(holds=True, found="7 °C on the surface")
    assert "7 °C on the surface" in read(crew)
    held.released_on, held.released_word = TODAY, "hard to the thumbnail"
    held.released_by = make.UserFactory()
    held.save()
    assert "7 °C on the surface" not in read(crew)


def test_the_dates_of_one_member_stand_in_one_line(crew: Client) -> None:
    sill = at_mill_row(mark="N-SILL-03")
    for kind, day in (("repair_look", 1), ("coating_look", 1), ("repaint", 2)):
        make.DueDateFactory(member=sill, kind=kind, due_on=date(2026, 5, day))
    (line,) = crew.get(reverse("today")).context["rows"].overdue
    assert (line.what, line.state, line.url) == (
        "Look at the repair and look at the coating, 1 May 2026; repaint, 2 May 2026",
        "Overdue, 4 days", sill.get_absolute_url(),
    )  # fmt: skip


def test_the_remarks_of_one_repair_wait_in_one_line(crew: Client) -> None:
    repair = make.RepairFactory()
    for found in ("7 °C on the surface.", "lot expired", "too thin"):
        make.KeptRemarkFactory(repair=repair, holds=True, found=found)
    (line,) = crew.get(reverse("today")).context["rows"].remarks
    assert line.what == "Resin repair: 7 °C on the surface; and 2 more remarks"


def test_the_sentence_counts_urgent_defects_on_what_stands(crew: Client) -> None:
    make.DefectFactory.create_batch(2, urgency="UC3")
    make.DefectFactory(urgency="UC3", member__building__demolished_on=TODAY)
    assert "Two defects are urgent." in crew.get(reverse("today")).context["page"].lead


def test_a_spent_lot_past_its_day_is_no_concern_of_today() -> None:
    spent = make.LotFactory(received=100, low_below=Decimal(50), expires_on=date(2025, 5, 1))
    spent.move(Movement.Kind.USED, Decimal(-100), NOW, None)
    assert lots_of(make.make_crew()) == []


def round_of(user: Any, name: str, walk_on: date, looks: int = 2) -> Any:
    walk = make.RoundFactory(name=name, walk_on=walk_on, person=user)
    place = make.BuildingFactory(property__name="Mill Row")
    for position in range(looks):
        due = make.DueDateFactory(member__building=place, due_on=date(2027, 1, 1))
        make.RoundStopFactory(round=walk, due=due, position=position)
    return walk


def test_ones_own_rounds_stand_first_and_can_be_walked_once_their_day_has_come(
    client: Client,
) -> None:
    user = make.make_crew()
    late, now, later = (
        round_of(user, name, TODAY + timedelta(days=days))
        for name, days in (("Late <b>tower</b>", -2), ("Ladders", 0), ("Later", 3))
    )
    round_of(make.make_crew(), "Hers", TODAY)
    round_of(None, "Nobody's", TODAY)
    ended = round_of(user, "Ended", TODAY)
    ended.ended_on, ended.ended_because = TODAY, "rain"
    ended.save()
    client.force_login(user)
    answer = client.get(reverse("today"))
    lines = answer.context["rows"].rounds
    assert [(line.name, line.state, line.what, line.where) for line in lines] == [
        ("Late <b>tower</b>", "2 days past its day", "3 May 2026, two looks to do", "Mill Row"),
        ("Ladders", "Today", "5 May 2026, two looks to do", "Mill Row"),
        ("Later", "In 3 days", "8 May 2026, two looks to do", "Mill Row"),
    ]
    walk = [reverse("round-walk", args=[each.pk]) for each in (late, now, later)]
    assert [line.do_url for line in lines] == [*walk[:2], ""]
    page = answer.content.decode()
    assert "Late &lt;b&gt;tower&lt;/b&gt;" in page
    assert page.count("Walk it") == 2
    assert page.index("Your rounds") < page.index("Overdue")
    assert answer.context["page"].lead.startswith("Your round Ladders is for today. Nothing is")


def test_a_round_counts_what_is_left_and_what_still_stands(client: Client) -> None:
    user = make.make_crew()
    walk = round_of(user, "Ladders", TODAY, looks=4)
    first, second, third, _ = walk.stops.all()
    first.due.answer(TODAY)
    second.left_out_because = "no ladder"
    second.save()
    third.due.member.removed_on, third.due.member.removed_reason = TODAY, "rotten"
    third.due.member.save()
    client.force_login(user)
    (line,) = client.get(reverse("today")).context["rows"].rounds
    assert line.what == "5 May 2026, one look to do"


def test_a_round_with_nothing_left_waits_to_be_ended(client: Client) -> None:
    user = make.make_crew()
    walk = round_of(user, "Ladders", TODAY, looks=1)
    walk.stops.get().due.answer(TODAY)
    client.force_login(user)
    (line,) = client.get(reverse("today")).context["rows"].rounds
    assert (line.state, line.do_url, line.where) == ("Nothing left to look at", "", "")


def test_a_round_over_two_properties_says_so(client: Client) -> None:
    user = make.make_crew()
    walk = round_of(user, "Ladders", TODAY, looks=1)
    make.RoundStopFactory(round=walk, due__member__building__property__name="Quay")
    client.force_login(user)
    (line,) = client.get(reverse("today")).context["rows"].rounds
    assert line.where == "Mill Row and one more"


def test_a_viewer_sees_no_rounds(client: Client) -> None:
    walk = round_of(None, "Ladders", TODAY)
    viewer = make.make_viewer(walk.stops.first().due.member.building.property)
    walk.person = viewer
    walk.save()
    client.force_login(viewer)
    assert "Ladders" not in read(client)


def fill(count: int, user: Any) -> None:
    for _ in range(count):
        repair = make.RepairFactory()
        make.StageFactory(repair=repair, ready_at=NOW + timedelta(hours=5))
        make.StageFactory(repair=repair, ready_at=NOW - timedelta(hours=5))
        make.KeptRemarkFactory(repair=repair, holds=True)
        make.DefectFactory(member=repair.member)
        for days in (-3, 5):
            make.DueDateFactory(
                member=repair.member, due_on=TODAY + timedelta(days=days), person=user
            )
        make.LotFactory(expires_on=TODAY)
        make.DraftFactory(user=user, kept=True, member=repair.member)
        make.RoundStopFactory(round__person=user, due__member=repair.member)


def test_the_queries_do_not_grow_with_the_rows(client: Client) -> None:
    user = make.make_crew()
    client.force_login(user)
    counts = []
    for rows in (3, 27):
        fill(rows, user)
        with CaptureQueriesContext(connection) as found:
            assert client.get(reverse("today")).status_code == 200
        counts.append(len(found))
    # Twelve, and one for the person's rounds, which hang on no other row of the page.
    assert counts[0] == counts[1] <= 13

"""The pages of a property, a building, an elevation, a member and a defect."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page
from pytest_django import DjangoAssertNumQueries
from time_machine import TimeMachineFixture

from properties.models import Building, Defect, Elevation, Member
from repairs.models import CostLine
from repairs.replace_member import take_out
from tests.factories import (
    PASSWORD,
    BuildingFactory,
    CostLineFactory,
    DefectFactory,
    DueDateFactory,
    ElevationFactory,
    InspectionFactory,
    MemberFactory,
    MoistureReadingFactory,
    OwnershipFactory,
    PersonFactory,
    PhotographFactory,
    PropertyFactory,
    RepairFactory,
    make_crew,
    make_manager,
    make_viewer,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _in_may(time_machine: TimeMachineFixture) -> None:
    time_machine.move_to("2026-05-20 12:00Z", tick=False)


@pytest.fixture
def manager(client: Client) -> Client:
    user = make_manager()
    PersonFactory(user=user)
    client.force_login(user)
    return client


def text(client: Client, thing: Any, **query: str) -> str:
    response = client.get(thing.get_absolute_url(), query)
    assert response.status_code == 200
    return response.content.decode()


def repaired(member: Member, zone: str, year: int, **more: Any) -> Any:
    return RepairFactory(
        member=member, zone=zone, began_at=datetime(year, 5, 4, 9, tzinfo=UTC), **more
    )


# A property


def test_a_sale_leaves_the_money_with_the_owner_of_its_day(manager: Client) -> None:
    here = BuildingFactory()
    of = here.property
    OwnershipFactory(property=of, owner__name="Ash Trust", to_on=date(2026, 5, 1))
    OwnershipFactory(property=of, owner__name="Oak Estate", from_on=date(2026, 5, 1))
    CostLineFactory(building=here, amount_minor=10_000, worked_on=date(2026, 4, 30))
    CostLineFactory(building=here, amount_minor=2_500, worked_on=date(2026, 5, 1))
    CostLineFactory(building=here, amount_minor=700, worked_on=date(1999, 1, 1))
    shown = text(manager, of)
    for owner, spent in [("Ash Trust", "100.00"), ("Oak Estate", "25.00")]:
        assert spent in shown.split(owner)[1].split("</tr>")[0]
    assert "7.00" in shown.split("No owner recorded")[1].split("</tr>")[0]
    assert "132.00" in shown.split("<tfoot>")[1].split("</tfoot>")[0]


def test_a_property_says_what_is_open_and_overdue(manager: Client) -> None:
    sill = MemberFactory(mark="N-SILL-1")
    DefectFactory(member=sill, kind="split", urgency="UC3")
    DueDateFactory(member=sill, due_on=date(2026, 5, 1))
    DueDateFactory(member=sill, due_on=date(2026, 4, 1), done_on=date(2026, 4, 2))
    shown = text(manager, sill.building.property)
    assert "1 building stands here with 1 open defect; 1 due date is overdue." in shown
    assert "UC3 – urgent and immediate" in shown


def test_an_empty_property_says_how_to_begin(manager: Client) -> None:
    shown = text(manager, PropertyFactory())
    assert "Nothing is recorded here yet: enter the first building" in shown
    assert "Enter the building first" in shown


def test_a_given_up_property_says_since_when_and_why(manager: Client) -> None:
    of = PropertyFactory(given_up_on=date(2026, 5, 1), given_up_reason="sold")
    assert "No longer looked after since 1 May 2026: sold." in text(manager, of)


def test_nobody_is_reminded_of_what_was_given_up_or_demolished(manager: Client) -> None:
    given_up = MemberFactory(
        building__property=PropertyFactory(given_up_on=date(2026, 5, 1), given_up_reason="sold")
    )
    demolished = MemberFactory(building__demolished_on=date(2026, 5, 1))
    for member in (given_up, demolished):
        DueDateFactory(member=member, due_on=date(2026, 5, 2))
        page = text(manager, member.building.property)
        assert "nothing is overdue" in page or "No building stands here any more" in page
        for page in (member.building, member.elevation):
            assert "Nothing is due here." in text(manager, page)
        assert "Nothing is due on this member." in text(manager, member)


def test_a_demolished_building_has_no_defect_to_put_right(manager: Client) -> None:
    defect = DefectFactory(member__building__demolished_on=date(2026, 5, 1))
    of = defect.member.building.property
    assert "No building stands here any more" in text(manager, of)
    assert "No open defect is recorded here." in text(manager, of)


# A building


def test_a_building_lists_its_members_by_page_and_finds_them_by_mark(manager: Client) -> None:
    here = BuildingFactory()
    for number in range(120):
        MemberFactory(building=here, elevation=None, mark=f"N-{number:03}")
    first, last = text(manager, here), text(manager, here, page="3")
    assert "120 members are listed" in first
    assert "N-049" in first
    assert "N-050" not in first
    assert "N-119" in last
    found = text(manager, here, q="n-07")
    assert "N-077" in found
    assert "N-001" not in found
    assert "No member here matches" in text(manager, here, q="zzz\0")


@pytest.mark.parametrize("page", ["x", "0", "-1", "99999"])
def test_an_absurd_page_number_shows_a_page(manager: Client, page: str) -> None:
    assert "N-1" in text(manager, MemberFactory(mark="N-1").building, page=page)


def test_taken_out_members_are_listed_when_asked_for(manager: Client) -> None:
    gone = MemberFactory(mark="N-9", removed_on=date(2026, 1, 1), removed_reason="rotten")
    assert "N-9" not in text(manager, gone.building)
    assert "taken out on 1 January 2026" in text(manager, gone.building, show="all")


# An elevation


def test_an_elevation_is_drawn_with_its_defects_in_words(manager: Client) -> None:
    yard = ElevationFactory(bearing_deg=Decimal(90))
    sill = MemberFactory(building=yard.building, elevation=yard, mark="E-SILL-1")
    MemberFactory(building=yard.building, elevation=yard, mark="E-POST-1", kind="post")
    DefectFactory(member=sill, zone="left", urgency="UC3")
    DefectFactory(member=sill, zone="right", urgency="UC1")
    shown = text(manager, yard)
    assert "faces east and has 2 members" in shown
    assert "2 open defects, urgent and immediate" in shown
    assert "No open defect" in shown
    assert shown.count('class="spot"') == 2
    assert shown.index("E-POST-1") < shown.index("E-SILL-1")  # the frame stands over the sills


def test_members_of_one_course_are_drawn_in_their_order(manager: Client) -> None:
    yard = ElevationFactory()
    for mark, position in [("B", "bay 1"), ("A", "bay 2")]:
        MemberFactory(building=yard.building, elevation=yard, mark=mark, position=position)
    drawing = text(manager, yard).split('class="face"')[1]
    assert drawing.index(">B<") < drawing.index(">A<")


def test_an_empty_elevation_and_an_unknown_bearing_are_said(manager: Client) -> None:
    shown = text(manager, ElevationFactory(bearing_deg=None))
    assert "has no bearing recorded" in shown
    assert "No member stands on this elevation yet." in shown


# A member


def test_scenario_7_spots_are_kept_apart_and_the_third_fill_is_advised_against(
    manager: Client,
) -> None:
    sill = MemberFactory()
    repaired(sill, "left", 2018)
    repaired(sill, "right", 2021)
    repaired(sill, "left", 2023, relation="repeat", follows=sill.repairs.first())
    DefectFactory(member=sill, zone="left")
    shown = text(manager, sill)
    left = shown.split('<th scope="row">Left end</th>')[1].split("</tr>")[0]
    right = shown.split('<th scope="row">Right end</th>')[1].split("</tr>")[0]
    assert "2 repairs before, lives 5 years and to date" in left
    assert "A third fill on this spot: replacing the member, or splicing it, is advised" in left
    assert "1 repair before, lasting to date" in right
    assert "3 repairs, 1 open defect" in shown


def test_scenario_9_a_redo_leaves_the_first_repair_its_own_life(manager: Client) -> None:
    sill = MemberFactory()
    first = repaired(sill, "left", 2025, state="failed", failed_on=date(2026, 2, 10))
    RepairFactory(
        member=sill,
        zone="left",
        relation="redo",
        follows=first,
        began_at=datetime(2026, 3, 1, 9, tzinfo=UTC),
    )
    assert "2 repairs before, lives 9 months and to date" in text(manager, sill)


def test_withdrawn_repairs_and_repaints_are_no_fills(manager: Client) -> None:
    sill = MemberFactory()
    repaired(sill, "left", 2020, state="withdrawn")
    repaired(sill, "left", 2021, kind="repaint")
    DefectFactory(member=sill, zone="left")
    assert "No repair before" in text(manager, sill)


def test_a_member_tells_all_that_happened_newest_first(manager: Client) -> None:
    sill = MemberFactory()
    DefectFactory(member=sill, found_on=date(2026, 4, 1))
    MoistureReadingFactory(
        member=sill, raw_pct=Decimal(13), taken_at=datetime(2026, 4, 2, 9, tzinfo=UTC)
    )
    repair = RepairFactory(member=sill, began_at=datetime(2026, 4, 3, 9, tzinfo=UTC))
    InspectionFactory(member=sill, looked_on=date(2026, 5, 4), result="watch")
    PhotographFactory(repair=repair, caption='Cut "back" <b>')
    CostLineFactory(building=sill.building, member=sill, amount_minor=12_345)
    shown = text(manager, sill)
    story = shown.split("All that happened")[1]
    order = [story.index(word) for word in ("Inspected", "Resin repair", "Moisture 13", "Found:")]
    assert order == sorted(order)
    assert "123.45" in shown
    assert "Cut &quot;back&quot; &lt;b&gt;" in shown


def test_a_day_is_told_by_the_clock_on_site(manager: Client) -> None:
    sill = MemberFactory(building__property__time_zone="America/New_York")
    RepairFactory(member=sill, began_at=datetime(2026, 5, 4, 1, 0, tzinfo=UTC))
    assert "3 May 2026" in text(manager, sill)


def test_cautions_name_load_lead_and_lost_strength(manager: Client) -> None:
    sill = MemberFactory(load_bearing="unknown", oldest_paint_year=1960)
    DefectFactory(member=sill, section_loss="20_50")
    shown = text(manager, sill)
    assert "Nobody has recorded whether" in shown
    assert "a licensed engineer decides" in shown
    assert "may be from 1960" in shown
    assert "its strength is in doubt" in shown


def test_no_caution_is_given_where_none_applies(manager: Client) -> None:
    shown = text(manager, MemberFactory(load_bearing="no", oldest_paint_year=2005))
    assert 'class="remark' not in shown


def test_a_member_with_nothing_on_it_says_so(manager: Client) -> None:
    shown = text(manager, MemberFactory())
    assert "No repair and no open defect is recorded on this member." in shown
    assert "No moisture reading is recorded." in shown
    assert "Nothing has happened to this member" in shown


def test_crew_see_the_acts_they_may_do_and_viewers_none(client: Client) -> None:
    sill = MemberFactory()
    client.force_login(make_crew())
    shown = text(client, sill)
    assert "Record a defect" in shown
    assert "Take out or replace" not in shown
    client.force_login(make_viewer(sill.building.property))
    shown = text(client, sill)
    assert "Record a defect" not in shown
    assert "Log a repair" not in shown


# Taking out and replacing


def replace(client: Client, member: Member, **typed: str) -> str:
    facts = {
        "new-mark": "N-1",
        "new-kind": "sill",
        "new-exposure": "partly",
        "new-ground_contact": "no",
        "new-load_bearing": "no",
        "new-finish": "paint",
        "new-finish_tone": "white",
        "on": "2026-05-18",
        "reason": "Decayed at both ends",
        "replaced": "on",
    }
    there = reverse("member-replace", args=[member.pk])
    return client.post(there, {**facts, **typed}, follow=True).content.decode()


def test_scenario_19_a_replaced_member_keeps_its_history_and_its_costs(manager: Client) -> None:
    old = MemberFactory(mark="N-1", species="pine")
    for year in (2018, 2021, 2024):
        repaired(old, "left", year)
    CostLineFactory(building=old.building, elevation=old.elevation, member=old)
    due = DueDateFactory(member=old)
    defect = DefectFactory(member=old)
    before = CostLine.objects.filter(elevation=old.elevation).count()
    shown = replace(manager, old, **{"new-elevation": str(old.elevation.pk)})
    new = Member.objects.get(supersedes=old)
    old.refresh_from_db()
    due.refresh_from_db()
    defect.refresh_from_db()
    assert (old.removed_on, old.removed_reason) == (date(2026, 5, 18), "Decayed at both ends")
    assert (new.mark, new.repairs.count(), old.repairs.count()) == ("N-1", 0, 3)
    assert due.cancelled_on == date(2026, 5, 18)
    assert "Decayed at both ends" in due.cancelled_reason
    assert defect.state == Defect.State.SUPERSEDED
    assert CostLine.objects.filter(elevation=old.elevation).count() == before
    assert "100.00" in text(manager, old.elevation)
    assert "In place of" in shown
    assert "Replaced by" in text(manager, old)


def test_the_form_begins_with_the_facts_of_the_old_member(manager: Client) -> None:
    old = MemberFactory(mark="N-1", species="pine", length_mm=Decimal(900))
    shown = manager.get(reverse("member-replace", args=[old.pk])).content.decode()
    for value in ("N-1", "pine", "900 mm"):
        assert f'value="{value}"' in shown


def test_a_member_can_go_without_another_in_its_place(manager: Client) -> None:
    old = MemberFactory()
    replace(manager, old, replaced="")
    old.refresh_from_db()
    assert not old.is_in_place()
    assert Member.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"on": "2226-01-01"}, "lies after"),
        ({"reason": ""}, "Still empty: type or choose"),
        ({"new-mark": "N-2"}, "already has a member with that mark"),
        ({"new-length_mm": "-1"}, "cannot be below zero"),
    ],
)
def test_a_faulty_replacement_changes_nothing(
    manager: Client, typed: dict[str, str], said: str
) -> None:
    old = MemberFactory(mark="N-1")
    MemberFactory(building=old.building, elevation=None, mark="N-2")
    assert said in replace(manager, old, **typed)
    old.refresh_from_db()
    assert old.is_in_place()
    assert Member.objects.count() == 2


def test_a_member_is_taken_out_once(manager: Client) -> None:
    old = MemberFactory(mark="N-1")
    replace(manager, old)
    assert "has been taken out already" in replace(manager, old)
    assert Member.objects.count() == 2


def test_of_two_who_take_a_member_out_at_once_the_first_is_right() -> None:
    old = MemberFactory(mark="N-1")
    take_out(Member.objects.get(pk=old.pk), date(2026, 5, 1), "rotten")
    take_out(old, date(2026, 5, 2), "split", MemberFactory.build(building=old.building))
    old.refresh_from_db()
    assert (old.removed_on, old.removed_reason) == (date(2026, 5, 1), "rotten")
    assert Member.objects.count() == 1


def test_a_building_says_where_it_stands(manager: Client) -> None:
    here = BuildingFactory(latitude=Decimal("51.50000"), longitude=Decimal("-0.12000"))
    assert "51.5° N, 0.12° W" in text(manager, here)


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_on_a_phone_no_place_scrolls_sideways(phone_page: Page) -> None:
    yard = ElevationFactory(name="Yard side " * 7)
    sill = MemberFactory(building=yard.building, elevation=yard, mark="N-" + "SILL" * 9)
    defect = DefectFactory(member=sill)
    user = make_manager()
    phone_page.goto("/log-in/")
    phone_page.fill("[name=username]", user.username)
    phone_page.fill("[name=password]", PASSWORD)
    phone_page.click("main button")
    for page in (yard.building.property, yard.building, yard, sill, defect):
        phone_page.goto(page.get_absolute_url())
        assert phone_page.evaluate("document.documentElement.scrollWidth") <= 390, page


# How much they ask


def fill(here: Building, yard: Elevation, count: int) -> None:
    for _ in range(count):
        sill = MemberFactory(building=here, elevation=yard)
        repair = RepairFactory(member=sill)
        DefectFactory(member=sill).repairs.add(repair)
        DueDateFactory(member=sill)
        CostLineFactory(building=here, elevation=yard, member=sill, repair=repair)


@pytest.mark.parametrize("what", ["property", "building", "elevation"])
def test_a_place_asks_no_more_for_thirty_members_than_for_three(
    manager: Client, what: str, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    yard = ElevationFactory()
    here = yard.building
    OwnershipFactory(property=here.property)
    page = {"property": here.property, "building": here, "elevation": yard}[what]
    asked = []
    for count in (3, 27):
        fill(here, yard, count)
        with django_assert_max_num_queries(12) as queries:
            text(manager, page)
        asked.append(len(queries.captured_queries))
    assert asked[0] == asked[1]


def test_a_member_and_its_defect_ask_no_more_when_more_happened(
    manager: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    defect = DefectFactory()
    sill = defect.member
    asked: dict[str, list[int]] = {"member": [], "defect": []}
    for count in (3, 27):
        for _ in range(count):
            repair = RepairFactory(member=sill)
            defect.repairs.add(repair)
            PhotographFactory(repair=repair, defect=defect)
            MoistureReadingFactory(member=sill, defect=defect)
            InspectionFactory(member=sill)
            DueDateFactory(member=sill)
            CostLineFactory(building=sill.building, member=sill, repair=repair)
        for name, page in (("member", sill), ("defect", defect)):
            with django_assert_max_num_queries(12) as queries:
                text(manager, page)
            asked[name].append(len(queries.captured_queries))
    assert all(few == many for few, many in asked.values())


@pytest.mark.parametrize("make", [ElevationFactory, BuildingFactory, MemberFactory])
def test_what_belongs_to_another_property_is_not_found(client: Client, make: Any) -> None:
    client.force_login(make_viewer(PropertyFactory()))
    assert client.get(make().get_absolute_url()).status_code == 404


def test_members_of_a_building_come_in_the_order_chosen(manager: Client) -> None:
    yard = ElevationFactory()
    for mark, urgency, day in (("a", "UC1", 9), ("b", "UC3", 8), ("c", "", 7)):
        member = MemberFactory(building=yard.building, elevation=yard, mark=mark)
        DueDateFactory(member=member, due_on=date(2026, 6, day))
        if urgency:
            DefectFactory(member=member, urgency=urgency)
    for sort, order in (("", "abc"), ("due", "cba"), ("urgency", "bac"), ("odd", "abc")):
        page = manager.get(yard.building.get_absolute_url(), {"sort": sort}).context["page"]
        assert "".join(member.mark for member in page) == order

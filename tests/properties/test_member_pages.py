"""The pages that enter and change buildings, elevations and members."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from time_machine import TimeMachineFixture

from properties.models import Building, Elevation, Member
from tests.factories import (
    BuildingFactory,
    ElevationFactory,
    MemberFactory,
    PersonFactory,
    PropertyFactory,
    make_crew,
    make_manager,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _in_may(time_machine: TimeMachineFixture) -> None:
    time_machine.move_to("2026-05-20 12:00Z", tick=False)


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make_manager())
    return client


def post(client: Client, name: str, pk: int, /, **typed: Any) -> str:
    return client.post(reverse(name, args=[pk]), typed, follow=True).content.decode()


# Buildings


def building(**changed: str) -> dict[str, str]:
    return {"name": "Granary", "year_built": "1825", "year_known": "circa", **changed}


def test_a_building_of_1825_is_entered(manager: Client) -> None:
    of = PropertyFactory()
    shown = post(manager, "building-new", of.pk, **building())
    assert "About 1825" in shown
    assert Building.objects.get().property == of


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"year_built": "2225"}, "2225 is yet to come"),
        ({"year_built": "12"}, "Type 1000 or more."),
        ({"year_built": "-5"}, "or more."),
        ({"year_known": "unknown"}, "Give the year and how it is known"),
        ({"year_built": "", "year_known": "exact"}, "Give the year and how it is known"),
        ({"latitude": "95"}, "Type 90 or less."),
        ({"storeys": "-1"}, "Type 0 or more."),
        ({"demolished_on": "2225-01-01"}, "lies after 20 May 2026"),
        ({"name": "Old barn"}, "already has a building of that name"),
    ],
)
def test_a_faulty_building_is_not_saved_and_says_why(
    manager: Client, changed: dict[str, str], said: str
) -> None:
    standing = BuildingFactory(name="Old barn")
    assert said in post(manager, "building-new", standing.property.pk, **building(**changed))
    assert Building.objects.count() == 1


def test_a_demolished_building_keeps_its_page_and_its_members(manager: Client) -> None:
    member = MemberFactory(mark="N-SILL-1")
    pk = member.building.pk
    shown = post(manager, "building-edit", pk, **building(demolished_on="2026-05-01"))
    assert "Demolished on 1 May 2026" in shown
    assert "N-SILL-1" in shown


# Elevations


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"bearing_deg": "400"}, "Type 359.9 or less."),
        ({"bearing_deg": "-1"}, "Type 0 or more."),
        ({"area_m2": "12 kg"}, "not an area"),
        ({"area_m2": "0"}, "at least"),
        ({"name": "Yard side"}, "already has an elevation of that name"),
    ],
)
def test_a_faulty_elevation_is_not_saved_and_says_why(
    manager: Client, changed: dict[str, str], said: str
) -> None:
    yard = ElevationFactory(name="Yard side")
    typed = {"name": "North", "access": "ladder", "bearing_deg": "0", **changed}
    assert said in post(manager, "elevation-new", yard.building.pk, **typed)
    assert Elevation.objects.count() == 1


def test_an_elevation_takes_its_area_in_feet(manager: Client) -> None:
    yard = ElevationFactory()
    post(
        manager,
        "elevation-edit",
        yard.pk,
        name="Yard",
        access="rope",
        bearing_deg="90",
        area_m2="100 sq ft",
    )
    yard.refresh_from_db()
    assert yard.area_m2 == Decimal("9.29")
    assert yard.faces() == "east"


# Members


def member(**changed: Any) -> dict[str, Any]:
    return {
        "mark": "S-SILL-01",
        "kind": "sill",
        "exposure": "partly",
        "ground_contact": "no",
        "load_bearing": "no",
        "finish": "paint",
        "finish_tone": "white",
        "count": "1",
        **changed,
    }


def test_sizes_are_typed_as_people_say_them(manager: Client) -> None:
    here = BuildingFactory()
    post(
        manager,
        "member-new",
        here.pk,
        **member(width_mm="3 3/4 in", depth_mm="145", length_mm="1.2 m"),
    )
    entered = Member.objects.get()
    assert (entered.width_mm, entered.depth_mm, entered.length_mm) == (
        Decimal("95.25"),
        Decimal(145),
        Decimal(1200),
    )


def test_a_bare_number_is_in_the_units_of_the_person(client: Client) -> None:
    user = make_manager()
    PersonFactory(user=user, unit_system="us")
    client.force_login(user)
    here = BuildingFactory()
    post(client, "member-new", here.pk, **member(length_mm="48"))
    assert Member.objects.get().length_mm == Decimal("1219.2")
    assert "4 ft" in client.get(Member.objects.get().get_absolute_url()).content.decode()


def test_several_alike_are_entered_at_once(manager: Client) -> None:
    here = BuildingFactory()
    shown = post(manager, "member-new", here.pk, **member(count="12", species="larch"))
    assert "12 members are saved: S-SILL-01 to S-SILL-12." in shown
    assert Member.objects.filter(species="larch").count() == 12
    assert Member.history.filter(history_type="+").count() == 12


def test_save_and_add_the_next_counts_the_mark_on(manager: Client) -> None:
    here = BuildingFactory()
    MemberFactory(building=here, mark="S-SILL-02", elevation=None)
    shown = post(manager, "member-new", here.pk, **member(length_mm="1200", next="1"))
    assert 'value="S-SILL-03"' in shown
    assert 'value="1200 mm"' in shown


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"mark": "N-1"}, "already has a member with that mark"),
        ({"mark": "M-9", "count": "3"}, "M-10 stand here already"),
        ({"mark": ""}, "Still empty: type or choose"),
        ({"count": "0"}, "Type 1 or more."),
        ({"count": "61"}, "Type 60 or less."),
        ({"length_mm": "-5 mm"}, "cannot be below zero"),
        ({"length_mm": "0"}, "at least"),
        ({"length_mm": "5 kg"}, "not a length"),
        ({"length_mm": "1/0"}, "length_mm"),
        ({"length_mm": "900 km"}, "length_mm"),
        ({"width_mm": "6 m"}, "at most"),
        ({"oldest_paint_year": "2027"}, "2027 is yet to come"),
        ({"installed_year": "2225"}, "2225 is yet to come"),
        ({"kind": "spaceship"}, "Select a valid choice"),
        ({"length_mm": "5", "not_applicable": ["length_mm"]}, "also said that it does not apply"),
        ({"notes": "x" * 5001}, "at most 5000 characters"),
    ],
)
def test_a_faulty_member_is_not_saved_and_says_why(
    manager: Client, changed: dict[str, Any], said: str
) -> None:
    here = BuildingFactory()
    MemberFactory(building=here, mark="N-1", elevation=None)
    MemberFactory(building=here, mark="M-10", elevation=None)
    shown = post(manager, "member-new", here.pk, **member(**changed))
    assert "Nothing is saved yet" in shown
    assert said in shown
    assert here.members.count() == 2


def test_a_mark_is_free_again_once_its_member_is_taken_out(manager: Client) -> None:
    here = BuildingFactory()
    MemberFactory(
        building=here,
        mark="S-SILL-01",
        elevation=None,
        removed_on=date(2026, 1, 1),
        removed_reason="rotten",
    )
    post(manager, "member-new", here.pk, **member())
    assert here.members.filter(mark="S-SILL-01").count() == 2


def test_another_buildings_elevation_is_refused(manager: Client) -> None:
    elsewhere = ElevationFactory()
    shown = post(manager, "member-new", BuildingFactory().pk, **member(elevation=elsewhere.pk))
    assert "Select a valid choice" in shown


def test_the_elevation_in_the_address_is_chosen_already(manager: Client) -> None:
    yard = ElevationFactory(name="Yard side")
    there = reverse("member-new", args=[yard.building.pk])
    shown = manager.get(there, {"elevation": yard.pk}).content.decode()
    assert f'<option value="{yard.pk}" selected>Yard side</option>' in shown


@pytest.mark.parametrize(
    "query", ["?like=99999", "?like=x", "?elevation=x", "?like=-1", "?like=" + "9" * 5000]
)
def test_a_made_up_address_still_shows_an_empty_form(manager: Client, query: str) -> None:
    there = reverse("member-new", args=[BuildingFactory().pk]) + query
    assert manager.get(there).status_code == 200


def test_a_member_is_changed(manager: Client) -> None:
    sill = MemberFactory(length_mm=None)
    post(manager, "member-edit", sill.pk, **member(mark='<b>"Ω"</b>', length_mm="1 m"))
    sill.refresh_from_db()
    assert (sill.mark, sill.length_mm) == ('<b>"Ω"</b>', Decimal(1000))
    assert "<b>" + '"Ω"' not in manager.get(sill.get_absolute_url()).content.decode()


def test_nothing_and_not_recorded_and_not_applicable_stand_apart(manager: Client) -> None:
    here = BuildingFactory(altitude_m=Decimal(0))
    shown = manager.get(here.get_absolute_url()).content.decode()
    assert "0.0 m" in shown
    post(manager, "member-new", here.pk, **member(not_applicable=["species"]))
    shown = manager.get(Member.objects.get().get_absolute_url()).content.decode()
    assert "<dt>Species</dt><dd>Not applicable</dd>" in shown
    assert '<dt>Length</dt><dd><span class="unknown">Not recorded</span></dd>' in shown


def test_crew_cannot_change_a_member_and_cannot_find_what_is_not_there(client: Client) -> None:
    client.force_login(make_crew())
    assert client.get(reverse("member-edit", args=[MemberFactory().pk])).status_code == 403
    assert client.get(reverse("member-detail", args=[99999])).status_code == 404


def test_in_place_and_its_twin_agree() -> None:
    MemberFactory()
    MemberFactory(removed_on=date(2026, 1, 1), removed_reason="rotten")
    found = set(Member.objects.in_place())
    assert found == {each for each in Member.objects.all() if each.is_in_place()}

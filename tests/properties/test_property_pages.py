"""The pages of properties and owners: listing, entering, selling, giving up."""

from datetime import date
from io import BytesIO

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries
from time_machine import TimeMachineFixture

from properties.models import Member, Owner, Ownership, Property
from tests.factories import (
    BuildingFactory,
    DefectFactory,
    MemberFactory,
    OwnerFactory,
    OwnershipFactory,
    PropertyFactory,
    make_crew,
    make_manager,
    make_viewer,
)

pytestmark = pytest.mark.django_db
LIST = "/properties/"


@pytest.fixture(autouse=True)
def _in_may(time_machine: TimeMachineFixture) -> None:
    time_machine.move_to("2026-05-20 12:00Z", tick=False)


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make_manager())
    return client


def text(client: Client, path: str, **query: str) -> str:
    response = client.get(path, query)
    assert response.status_code == 200
    return response.content.decode()


# The list


def test_the_list_says_owner_and_worst_open_defect(manager: Client) -> None:
    mill = PropertyFactory(name="Mill Row")
    OwnershipFactory(property=mill, owner__name="Ash Trust")
    member = MemberFactory(building__property=mill)
    DefectFactory(member=member, urgency="UC1")
    DefectFactory(member=member, urgency="UC3")
    DefectFactory(member=member, urgency="UC3", state="made_good", closed_on=date(2026, 5, 1))
    shown = text(manager, LIST)
    assert "Ash Trust" in shown
    assert "UC3 – urgent and immediate" in shown
    assert '<td class="num" data-label="Open defects">2</td>' in shown


def test_the_list_finds_by_name_address_and_owner(manager: Client) -> None:
    mill = PropertyFactory(name="Mill Row", address="3 Weir Lane")
    PropertyFactory(name="Tannery")
    OwnershipFactory(property=mill, owner__name="Ash Trust")
    for words in ("mill", "weir lane", "ash trust mill"):
        shown = text(manager, LIST, q=words)
        assert "Mill Row" in shown
        assert "Tannery" not in shown


def test_the_list_leaves_out_what_was_given_up_unless_asked(manager: Client) -> None:
    PropertyFactory(name="Mill Row", given_up_on=date(2026, 5, 1), given_up_reason="sold")
    PropertyFactory(name="Tannery")
    assert "Mill Row" not in text(manager, LIST)
    assert "Mill Row" in text(manager, LIST, show="all")
    given_up = text(manager, LIST, show="given_up")
    assert "Mill Row" in given_up
    assert "Tannery" not in given_up


def test_the_list_narrows_to_the_owner_of_today(manager: Client) -> None:
    ash = OwnerFactory(name="Ash Trust")
    OwnershipFactory(property__name="Mill Row", owner=ash, to_on=date(2026, 5, 1))
    OwnershipFactory(property__name="Tannery", owner=ash)
    shown = text(manager, LIST, owner=str(ash.pk))
    assert "Tannery" in shown
    assert "Mill Row" not in shown


def test_a_viewer_sees_only_the_properties_given(client: Client) -> None:
    mine, other = PropertyFactory(name="Mill Row"), PropertyFactory(name="Tannery")
    OwnershipFactory(property=other, owner__name="Oak Estate")
    client.force_login(make_viewer(mine))
    shown = text(client, LIST)
    assert "Mill Row" in shown
    assert "Tannery" not in shown
    assert "Oak Estate" not in shown
    assert client.get(other.get_absolute_url()).status_code == 404
    assert client.get(Owner.objects.get().get_absolute_url()).status_code == 404


def test_an_empty_list_says_how_to_begin(manager: Client) -> None:
    assert "begin with" in text(manager, LIST)


def test_the_csv_keeps_formulas_as_text(manager: Client) -> None:
    PropertyFactory(name="=1+1", address="@home")
    assert "'=1+1,'@home" in text(manager, LIST, _export="csv")


def test_the_xlsx_opens_and_holds_numbers(manager: Client) -> None:
    PropertyFactory(name="=1+1\x08")
    sheet = openpyxl.load_workbook(BytesIO(manager.get(LIST, {"_export": "xlsx"}).content)).active
    assert sheet is not None
    rows = list(sheet.values)
    assert rows[1][0] == "'=1+1"


@pytest.mark.parametrize("path", [LIST, "/owners/"])
def test_a_list_asks_no_more_for_thirty_rows_than_for_three(
    manager: Client, path: str, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    asked = []
    for count in (3, 27):
        for _ in range(count):
            DefectFactory(member=MemberFactory(building__property=OwnershipFactory().property))
        with django_assert_max_num_queries(12) as queries:
            manager.get(path)
        asked.append(len(queries.captured_queries))
    assert asked[0] == asked[1]


# Entering and changing


def new_property(**changed: str) -> dict[str, str]:
    return {
        "name": "Mill Row",
        "address": "3 Weir Lane",
        "country": "gb",
        "currency": "gbp",
        "time_zone": "Europe/London",
        "unit_system": "metric",
        **changed,
    }


def test_a_property_is_entered_with_its_new_owner(manager: Client) -> None:
    typed = new_property(**{"first-new_owner": "Ash Trust", "first-from_on": "2020-01-01"})
    response = manager.post(reverse("property-new"), typed)
    mill = Property.objects.get()
    assert response["Location"] == mill.get_absolute_url()
    assert mill.country == "GB"
    assert str(mill.owner_on(date(2026, 5, 1))) == "Ash Trust"


def test_a_property_can_be_entered_without_an_owner(manager: Client) -> None:
    manager.post(reverse("property-new"), new_property())
    assert not Ownership.objects.exists()


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"time_zone": "Mars/Base"}, "is not a time zone"),
        ({"currency": "POUND"}, "at most 3 characters"),
        ({"currency": "12A"}, "three capital letters"),
        ({"name": ""}, "Still empty: type or choose"),
        ({"first-new_owner": "Ash"}, "Say from which day"),
        ({"first-from_on": "2020-01-01"}, "Pick the owner"),
        ({"notes": "x" * 5001}, "at most 5000 characters"),
        ({"lead_paint_ban_year": "1825"}, "Type 1900 or more."),
    ],
)
def test_a_faulty_property_is_not_saved_and_says_why(
    manager: Client, changed: dict[str, str], said: str
) -> None:
    shown = manager.post(reverse("property-new"), new_property(**changed)).content.decode()
    assert said in shown
    assert "3 Weir Lane" in shown
    assert not Property.objects.exists()


def test_names_in_other_scripts_and_with_brackets_come_back_as_typed(manager: Client) -> None:
    name = 'مطحنة "الصف" <b>O\'Hara & Söhne</b>'
    manager.post(reverse("property-new"), new_property(name=name))
    mill = Property.objects.get()
    assert mill.name == name
    shown = text(manager, mill.get_absolute_url())
    assert "<b>O" not in shown
    assert "مطحنة" in shown


def test_a_property_is_changed(manager: Client) -> None:
    mill = PropertyFactory()
    manager.post(reverse("property-edit", args=[mill.pk]), new_property(name="Weir Row"))
    mill.refresh_from_db()
    assert mill.name == "Weir Row"


# Owners come and go


def hand_over(manager: Client, of: Property, **typed: str) -> str:
    there = reverse("property-change-owner", args=[of.pk])
    return manager.post(there, typed, follow=True).content.decode()


def test_a_sale_ends_one_ownership_and_begins_the_next(manager: Client) -> None:
    first = OwnershipFactory(owner__name="Ash Trust")
    hand_over(manager, first.property, on="2026-05-01", new_owner="Oak Estate", note="Sold")
    first.refresh_from_db()
    assert first.to_on == date(2026, 5, 1)
    assert str(first.property.owner_on(date(2026, 4, 30))) == "Ash Trust"
    assert str(first.property.owner_on(date(2026, 5, 1))) == "Oak Estate"


def test_a_refused_sale_changes_nothing(manager: Client) -> None:
    first = OwnershipFactory(from_on=date(2026, 1, 1))
    said = hand_over(manager, first.property, on="2025-12-31", new_owner="Oak Estate")
    assert "has held it since 1 January 2026" in said
    first.refresh_from_db()
    assert first.to_on is None
    assert not Owner.objects.filter(name="Oak Estate").exists()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"on": "2225-01-01", "new_owner": "Oak"}, "is yet to come"),
        ({"on": "1225-01-01", "new_owner": "Oak"}, "is too long ago"),
        ({"on": "2026-05-01"}, "Pick the owner, or type a new name"),
        ({"on": "5/3/2026", "new_owner": "Oak"}, "Type the day like 3 May 2026"),
    ],
)
def test_a_faulty_sale_says_why(manager: Client, typed: dict[str, str], said: str) -> None:
    assert said in hand_over(manager, OwnershipFactory().property, **typed)


def test_an_owner_cannot_buy_from_itself(manager: Client) -> None:
    first = OwnershipFactory()
    said = hand_over(manager, first.property, on="2026-05-01", owner=str(first.owner.pk))
    assert "holds it already" in said


def test_two_owners_at_once_are_refused() -> None:
    first = OwnershipFactory(from_on=date(2020, 1, 1), to_on=date(2022, 1, 1))
    overlapping = Ownership(property=first.property, owner=OwnerFactory(), from_on=date(2021, 1, 1))
    with pytest.raises(Exception, match="two owners at once"):
        overlapping.full_clean()


def test_a_property_is_given_up_with_a_reason(manager: Client) -> None:
    mill = PropertyFactory()
    there = reverse("property-give-up", args=[mill.pk])
    assert (
        "Still empty: type or choose"
        in manager.post(there, {"given_up_on": "2026-05-01"}).content.decode()
    )
    manager.post(there, {"given_up_on": "2026-05-01", "given_up_reason": "sold"})
    mill.refresh_from_db()
    assert (mill.given_up_on, mill.given_up_reason) == (date(2026, 5, 1), "sold")


def test_a_property_given_up_can_be_taken_up_again(manager: Client) -> None:
    mill = PropertyFactory(given_up_on=date(2026, 5, 1), given_up_reason="sold")
    there = reverse("property-give-up", args=[mill.pk])
    assert 'value="2026-05-01"' in manager.get(there).content.decode()
    refused = manager.post(there, {"given_up_on": "2026-05-02"}).content.decode()
    assert "Say why it is no longer looked after" in refused
    manager.post(there, {"given_up_on": "", "given_up_reason": "sold"})
    mill.refresh_from_db()
    assert (mill.given_up_on, mill.given_up_reason) == (None, "")


def test_what_is_looked_after_and_its_twin_agree() -> None:
    on = date(2026, 5, 20)
    for given_up_on in (None, date(2026, 5, 19), on, date(2026, 5, 21)):
        PropertyFactory(given_up_on=given_up_on, given_up_reason="sold" if given_up_on else "")
    found = set(Property.objects.looked_after(on))
    assert found == {each for each in Property.objects.all() if each.is_looked_after(on)}


def test_held_by_and_owner_on_agree() -> None:
    on = date(2026, 5, 20)
    ash = OwnerFactory()
    for to_on in (None, date(2026, 5, 19), on, date(2026, 5, 21)):
        OwnershipFactory(owner=ash, to_on=to_on)
    found = set(Property.objects.held_by(ash, on))
    assert found == {each for each in Property.objects.all() if each.owner_on(on) == ash}


def test_an_owner_is_entered_shown_and_changed(manager: Client) -> None:
    manager.post(reverse("owner-new"), {"name": "Ash Trust", "is_body": "on"})
    ash = Owner.objects.get()
    OwnershipFactory(owner=ash, property__name="Mill Row")
    assert "Mill Row" in text(manager, ash.get_absolute_url())
    manager.post(reverse("owner-edit", args=[ash.pk]), {"name": "Ash & Oak"})
    assert "Ash &amp; Oak" in text(manager, "/owners/")


# Who may


@pytest.mark.parametrize("make", [make_crew, lambda: make_viewer(*Property.objects.all())])
def test_only_managers_enter_and_change_properties(client: Client, make: object) -> None:
    building = BuildingFactory()
    of = building.property
    client.force_login(make())  # type: ignore[operator]
    assert client.get(of.get_absolute_url()).status_code == 200
    for name, pk in [
        ("property-edit", of.pk),
        ("property-change-owner", of.pk),
        ("property-give-up", of.pk),
        ("building-new", of.pk),
        ("building-edit", building.pk),
        ("elevation-new", building.pk),
        ("member-new", building.pk),
    ]:
        assert client.get(reverse(name, args=[pk])).status_code == 403, name
    assert client.get(reverse("property-new")).status_code == 403
    assert client.get(reverse("owner-new")).status_code == 403


def test_members_looked_after_and_their_twin_agree() -> None:
    on = date(2026, 5, 20)
    for ended_on in (None, date(2026, 5, 19), on, date(2026, 5, 21)):
        why = "gone" if ended_on else ""
        MemberFactory(removed_on=ended_on, removed_reason=why)
        MemberFactory(building__demolished_on=ended_on)
        MemberFactory(
            building__property__given_up_on=ended_on, building__property__given_up_reason=why
        )
    found = set(Member.objects.looked_after(on))
    assert found == {each for each in Member.objects.all() if each.is_looked_after(on)}
    assert len(found) == 6

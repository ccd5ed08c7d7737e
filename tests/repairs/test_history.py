"""The page of a property's history, and the diary behind it."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from properties.models import Member, Property
from repairs.history.entries import happenings, read
from repairs.history.entry_words import Entry, entry_of
from repairs.history.scope import Scope
from tests.factories import (
    BuildingFactory,
    CostLineFactory,
    DefectFactory,
    DueDateFactory,
    InspectionFactory,
    KeptRemarkFactory,
    MemberFactory,
    MoistureReadingFactory,
    OwnershipFactory,
    PhotographFactory,
    PropertyFactory,
    RepairFactory,
    SignOffFactory,
    make_crew,
    make_manager,
    make_viewer,
)

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)


def told(of: Property, **kwargs: Any) -> list[Entry]:
    scope = Scope(of, TODAY, **kwargs)
    return [entry_of(row, scope) for row in read(happenings(scope))]


def page(client: Client, of: Property, **query: Any) -> str:
    return client.get(reverse("history-page", args=[of.pk]), query).content.decode()


@pytest.fixture
def sill() -> Member:
    return MemberFactory(mark="N-SILL-03")


@pytest.fixture
def of(sill: Member) -> Property:
    return sill.building.property


def sold_in_2025(of: Property) -> None:
    OwnershipFactory(
        property=of, owner__name="First Trust", from_on=date(2015, 1, 1), to_on=date(2025, 6, 30)
    )
    OwnershipFactory(property=of, owner__name="Second Trust", from_on=date(2025, 6, 30))


def test_everything_dated_stands_in_order_of_days(sill: Member, of: Property) -> None:
    OwnershipFactory(property=of, from_on=date(2010, 1, 1))
    DefectFactory(
        member=sill, found_on=date(2026, 4, 20), cause_put_right_on=date(2026, 5, 1),
        state="made_good", closed_on=date(2026, 5, 9),
    )  # fmt: skip
    MoistureReadingFactory(member=sill, taken_at=datetime(2026, 5, 4, 7, 0, tzinfo=UTC))
    repair = RepairFactory(member=sill, began_at=datetime(2026, 5, 4, 9, 0, tzinfo=UTC))
    KeptRemarkFactory(
        repair=repair, released_on=date(2026, 5, 6), released_by=make_manager(), released_word="Ok"
    )
    SignOffFactory(repair=repair, signed_on=date(2026, 5, 8))
    InspectionFactory(member=sill, looked_on=date(2026, 6, 4))
    CostLineFactory(building=sill.building, member=sill, invoiced_on=date(2026, 7, 1))
    entries = told(of)
    assert [entry.when for entry in entries] == sorted(entry.when for entry in entries)
    assert [entry.title.partition(": ")[2] for entry in entries[1:]] == [
        "decay found", "cause of the decay put right", "moisture reading", "resin repair",
        "a remark released on the repair", "repair signed off", "decay closed: made good",
        "inspection", "labour, GBP 100.00",
    ]  # fmt: skip


def test_a_day_is_the_day_on_site(sill: Member, of: Property) -> None:
    """Half past midnight in Auckland is still the day before in UTC."""
    Property.objects.filter(pk=of.pk).update(time_zone="Pacific/Auckland")
    of.refresh_from_db()
    RepairFactory(member=sill, began_at=datetime(2026, 3, 3, 11, 30, tzinfo=UTC))
    InspectionFactory(member=sill, looked_on=date(2026, 3, 3))
    look, repair = told(of)
    assert (look.when, repair.when) == (date(2026, 3, 3), date(2026, 3, 4))
    assert repair.clock == "00:30"


def test_two_clock_times_of_the_night_when_clocks_go_back_keep_their_order(
    sill: Member, of: Property
) -> None:
    for hour in (1, 0):
        RepairFactory(member=sill, began_at=datetime(2026, 10, 25, hour, 30, tzinfo=UTC))
    assert [entry.clock for entry in told(of)] == ["01:30", "01:30"]
    rows = read(happenings(Scope(of, TODAY)))
    assert [row.at and row.at.astimezone(UTC).hour for row in rows] == [0, 1]


def test_the_day_of_entry_stands_where_it_differs(sill: Member, of: Property) -> None:
    old = RepairFactory(member=sill)
    RepairFactory(member=sill, began_at=old.entered_at)
    late, same_day = told(of)
    assert late.recorded is not None
    assert same_day.recorded is None


def test_a_late_look_stays_late(sill: Member, of: Property) -> None:
    due = DueDateFactory(member=sill, due_on=date(2025, 4, 15))
    InspectionFactory(member=sill, looked_on=date(2025, 6, 3), due=due)
    assert "due on 15 April 2025: 49 days late" in told(of)[0].text


def test_a_withdrawn_repair_is_no_part_of_the_history(sill: Member, of: Property) -> None:
    RepairFactory(member=sill, state="withdrawn")
    assert told(of) == []


def test_photographs_are_counted(sill: Member, of: Property) -> None:
    repair = RepairFactory(member=sill)
    PhotographFactory.create_batch(2, repair=repair)
    assert "2 photographs" in told(of)[0].text


def test_nothing_of_another_property_is_told(of: Property) -> None:
    RepairFactory(member__mark="ELSEWHERE")
    OwnershipFactory()
    assert told(of) == []


def test_the_choice_of_days_member_and_kind_narrows_it(
    client: Client, sill: Member, of: Property
) -> None:
    client.force_login(make_crew())
    other = MemberFactory(building=sill.building, mark="OTHER")
    DefectFactory(member=other, found_on=date(2024, 1, 2))
    RepairFactory(member=sill)
    assert "OTHER: decay found" in page(client, of)
    assert "OTHER: decay found" not in page(client, of, member=sill.pk)
    assert "OTHER: decay found" not in page(client, of, subject="repairs")
    assert "OTHER: decay found" not in page(client, of, **{"from": "2025-01-01"})
    assert "OTHER: decay found" not in page(client, of, year="2026")
    assert "OTHER: decay found" in page(client, of, to="2025-01-01")


def test_days_that_cannot_be_are_refused_with_a_sentence(client: Client, of: Property) -> None:
    client.force_login(make_crew())
    assert "Swap the two" in page(client, of, **{"from": "2025-01-02", "to": "2025-01-01"})
    assert "between the years" in page(client, of, to="9999-12-31")
    assert "Type the day" in page(client, of, to="soon")
    answer = client.get(reverse("history-pdf", args=[of.pk]), {"to": "9999-12-31"})
    assert answer["Location"].startswith(reverse("history-page", args=[of.pk]))


def test_long_histories_come_in_pages_of_fifty(client: Client, sill: Member, of: Property) -> None:
    client.force_login(make_crew())
    RepairFactory.create_batch(60, member=sill)
    assert page(client, of).count("<li>\n      <time") == 50
    assert page(client, of, page=2).count("<li>\n      <time") == 10
    assert page(client, of, page="nonsense").count("<li>\n      <time") == 50


def test_the_page_of_one_entry_and_of_many_asks_as_often(
    client: Client, sill: Member, of: Property, django_assert_max_num_queries: Any
) -> None:
    client.force_login(make_viewer(of))
    RepairFactory(member=sill)
    with django_assert_max_num_queries(12) as few:
        page(client, of)
    for _ in range(8):
        member = MemberFactory(building=sill.building)
        repair = RepairFactory(member=member)
        SignOffFactory(repair=repair)
        PhotographFactory(repair=repair)
        InspectionFactory(member=member)
        CostLineFactory(building=sill.building, member=member)
    with django_assert_max_num_queries(12) as many:
        page(client, of, member=sill.pk)
        assert len(many) <= 12
    with django_assert_max_num_queries(12) as all_of_it:
        page(client, of)
    assert len(few) == len(all_of_it)


def test_costs_before_a_sale_are_hidden_from_the_new_owner(
    client: Client, sill: Member, of: Property
) -> None:
    sold_in_2025(of)
    for worked_on, amount in ((date(2024, 5, 4), 77700), (date(2026, 5, 4), 88800)):
        CostLineFactory(building=sill.building, worked_on=worked_on, amount_minor=amount)
    client.force_login(make_viewer(of))
    assert "888.00" in page(client, of)
    assert "777.00" not in page(client, of)
    assert "777.00" not in page(client, of, all_owners="on")
    client.force_login(make_manager())
    assert "777.00" not in page(client, of)
    assert "777.00" in page(client, of, all_owners="on")


def test_as_at_a_day_before_the_sale_the_first_owner_sees_the_costs(
    client: Client, sill: Member, of: Property
) -> None:
    sold_in_2025(of)
    CostLineFactory(building=sill.building, worked_on=date(2024, 5, 4), amount_minor=77700)
    client.force_login(make_viewer(of))
    assert "777.00" in page(client, of, to="2025-06-29")


def test_a_viewer_reads_only_the_properties_given(client: Client, of: Property) -> None:
    client.force_login(make_viewer(PropertyFactory()))
    for name in ("history-page", "history-pdf"):
        assert client.get(reverse(name, args=[of.pk])).status_code == 404


def test_an_empty_property_says_how_to_begin(client: Client) -> None:
    client.force_login(make_crew())
    assert "No entries here." in page(client, BuildingFactory().property)

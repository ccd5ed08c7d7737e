"""Who changed what and when, on every record."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from repairs.change_log import ROOTS
from tests import factories
from tests.factories import (
    MemberFactory,
    PropertyFactory,
    make_crew,
    make_manager,
    make_viewer,
)

pytestmark = pytest.mark.django_db

MAKERS: dict[str, Any] = {
    "owner": factories.OwnerFactory,
    "property": factories.PropertyFactory,
    "building": factories.BuildingFactory,
    "elevation": factories.ElevationFactory,
    "member": factories.MemberFactory,
    "defect": factories.DefectFactory,
    "repair": factories.RepairFactory,
    "plan": factories.PlanFactory,
    "batch": factories.BatchFactory,
    "inspection": factories.InspectionFactory,
    "due-date": factories.DueDateFactory,
    "round": factories.RoundFactory,
    "rule": factories.DueRuleFactory,
    "price-index": factories.PriceIndexFactory,
    "product": factories.ProductFactory,
    "lot": factories.LotFactory,
    "shared-cost": factories.SharedCostFactory,
    "person": factories.PersonFactory,
}


@pytest.mark.parametrize("name", sorted(ROOTS))
def test_every_record_has_a_log_that_says_it_was_entered(client, name) -> None:
    client.force_login(make_manager())
    record = MAKERS[name]()

    page = client.get(reverse("change-log", args=[name, record.pk]))

    assert " entered</strong>" in page.content.decode()


def test_a_change_says_who_made_it_and_what_it_was_before(client) -> None:
    manager = make_manager(first_name="Ash", last_name="Rowan")
    client.force_login(manager)
    member = MemberFactory(mark="N-SILL-01")
    address = reverse("member-edit", args=[member.pk])
    form = client.get(address).context["form"]
    typed = {field.html_name: field.value() for field in form if field.value()}

    client.post(address, {**typed, "mark": "N-SILL-09"})
    page = client.get(reverse("change-log", args=["member", member.pk])).content.decode()

    assert "Member changed</strong> by Ash Rowan" in page
    assert "<del>N-SILL-01</del> → N-SILL-09" in page


def test_a_choice_is_told_in_words_and_a_link_by_its_name(client) -> None:
    client.force_login(make_manager())
    member = MemberFactory(load_bearing="no")
    member.load_bearing = "unknown"
    member.save()

    page = client.get(reverse("change-log", args=["member", member.pk])).content.decode()

    assert "<del>No</del> → Not known" in page
    assert str(member.building) in page


def test_figures_and_times_are_told_as_the_property_keeps_them(client) -> None:
    client.force_login(make_manager())
    member = MemberFactory(
        building__property__time_zone="America/Denver",
        building__property__unit_system="us",
        width_mm=Decimal("88.9"),
        removed_on=date(2026, 5, 3),
        removed_reason="rotten through",
    )
    factories.MoistureReadingFactory(
        member=member, taken_at=datetime(2026, 5, 4, 3, 0, tzinfo=UTC), wood_c=Decimal(10)
    )

    page = client.get(reverse("change-log", args=["member", member.pk])).content.decode()

    assert "Times are those of America/Denver." in page
    for told in ("3 1/2 in", "3 May 2026", "3 May 2026, 21:00", "50 °F", "13 %"):
        assert f"<dd>{told}</dd>" in page


def test_what_was_typed_is_shown_as_text_and_never_run(client) -> None:
    client.force_login(make_manager())
    member = MemberFactory(notes="<script>alert(1)</script>")

    page = client.get(reverse("change-log", args=["member", member.pk])).content.decode()

    assert "&lt;script&gt;alert(1)" in page
    assert "<script>alert(1)" not in page


def test_a_viewer_reads_the_log_of_the_properties_given_and_no_other(client) -> None:
    given, other = PropertyFactory(), PropertyFactory()
    client.force_login(make_viewer(given))

    assert client.get(reverse("change-log", args=["property", given.pk])).status_code == 200
    assert client.get(reverse("change-log", args=["property", other.pk])).status_code == 404


def test_the_logs_of_stores_and_people_are_not_for_viewers(client) -> None:
    lot, person = factories.LotFactory(), factories.PersonFactory()
    client.force_login(make_viewer(PropertyFactory()))

    assert client.get(reverse("change-log", args=["lot", lot.pk])).status_code == 403
    assert client.get(reverse("change-log", args=["person", person.pk])).status_code == 403


def test_a_log_that_does_not_exist_is_not_found(client) -> None:
    client.force_login(make_crew())

    assert client.get("/changes/user/1/").status_code == 404
    assert client.get(reverse("change-log", args=["member", 10**9])).status_code == 404


def asked_of(client, name, record) -> int:
    with CaptureQueriesContext(connection) as asked:
        assert client.get(reverse("change-log", args=[name, record.pk])).status_code == 200
    return len(asked)


@pytest.mark.parametrize("name", sorted(ROOTS))
def test_many_versions_ask_no_more_than_one(client, name) -> None:
    client.force_login(make_manager())
    record = MAKERS[name]()
    first = asked_of(client, name, record)

    for _ in range(3):
        MAKERS[name]()
        record.save()

    assert asked_of(client, name, record) == first <= 12

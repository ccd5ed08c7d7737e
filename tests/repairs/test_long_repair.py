"""A repair of which much is recorded asks no more of the database than one of which little is."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from repairs.models import Repair
from tests.factories import (
    BatchFactory,
    BatchPartFactory,
    BatchShareFactory,
    CostLineFactory,
    DefectFactory,
    DueDateFactory,
    ElevationFactory,
    InspectionFactory,
    KeptRemarkFactory,
    LabourFactory,
    LotFactory,
    PhotographFactory,
    RepairFactory,
    SignOffFactory,
    StageFactory,
    make_manager,
    make_viewer,
)

pytestmark = pytest.mark.django_db
DAY = date(2026, 5, 8)


@pytest.fixture
def manager(client):
    user = make_manager(first_name="Ash", last_name="Rowan")
    client.force_login(user)
    return user


@pytest.fixture
def repair(manager) -> Repair:
    earlier = RepairFactory(member__elevation=ElevationFactory())
    return RepairFactory(
        member=earlier.member, follows=earlier, relation="repeat", entered_by=manager
    )


def lengthen(repair: Repair) -> None:
    """One more of everything that is kept with a repair, with all that it may speak of."""
    who, member = repair.entered_by, repair.member
    stage = StageFactory(repair=repair)
    batch, elsewhere = BatchFactory(mixed_for=stage), BatchFactory(mixed_for=StageFactory())
    for each in (batch, elsewhere):
        product = each.sheet.product
        BatchPartFactory(
            batch=each, lot=LotFactory(product=product, parent=LotFactory(product=product))
        )
        BatchShareFactory(batch=each, stage=stage, amount=20)
        BatchShareFactory(batch=each)
    about = {"repair": repair, "member": member}
    DueDateFactory(**about)
    DueDateFactory(**about, cancelled_on=DAY, cancelled_reason="Looked at with the wall")
    defect = DefectFactory(member=member)
    repair.defects.add(defect)
    shown = {"defect": defect, "inspection": InspectionFactory(**about), "stage": stage}
    PhotographFactory(**about, **shown, entered_by=who, caption="")
    RepairFactory(member=member, follows=repair, relation="repeat")
    money = {"building": member.building, "repair": repair}
    line = CostLineFactory(**money, stage=stage, batch=batch)
    CostLineFactory(**money, reverses=line, amount_minor=-line.amount_minor)
    LabourFactory(repair=repair, stage=stage, cost_line=line)
    LabourFactory(repair=repair)
    word = {"released_on": DAY, "released_by": who, "released_word": "Dry enough"}
    KeptRemarkFactory(repair=repair, stage=stage, batch=batch, **word)
    SignOffFactory(repair=repair, stage=stage, entered_by=who)


def test_its_page_asks_no_more(client, repair, django_assert_num_queries) -> None:
    for _ in range(3):
        lengthen(repair)
        with django_assert_num_queries(19):
            client.get(reverse("repair-detail", args=[repair.pk]))


def test_its_page_asks_a_viewer_no_more(client, repair, django_assert_num_queries) -> None:
    client.force_login(make_viewer(repair.member.building.property))
    for _ in range(3):
        lengthen(repair)
        with django_assert_num_queries(19):
            client.get(reverse("repair-detail", args=[repair.pk]))


def test_its_log_asks_no_more(client, repair, django_assert_num_queries) -> None:
    for _ in range(3):
        lengthen(repair)
        repair.save()
        with django_assert_num_queries(11):
            client.get(reverse("change-log", args=["repair", repair.pk]))

"""Recall: from a lot, product or sheet revision to all that holds some of it, and the looks set."""

from __future__ import annotations

import csv
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import BytesIO, StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook
from pypdf import PdfReader
from time_machine import travel

from materials import stock
from materials.models import Lot
from materials.stock import Occasion
from repairs.logbook.change import withdraw
from repairs.models import DueDate, Repair, Stage
from repairs.stories.recall import Subject, recall_of
from tests import factories as make
from tests.repairs.test_lot_trace import mix
from tests.two_properties import HIDDEN

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]

NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)
TODAY = NOW.date()


@pytest.fixture
def today():
    with travel(NOW, tick=False):
        yield


@pytest.fixture
def manager(client):
    client.force_login(make.make_manager())
    return client


@pytest.fixture
def kit():
    product = make.ProductFactory(name="Invented Resin", maker="")
    return make.make_kit_lot(product, number="K7")


def stage(mark: str = "N-SILL-01", **facts) -> Stage:
    member = make.MemberFactory(mark=mark, **facts)
    owner = make.OwnerFactory(name=f"Owner of {mark}", contact="post@larkfield.example")
    make.OwnershipFactory(property=member.building.property, owner=owner)
    return make.StageFactory(repair=make.RepairFactory(member=member), kind="fill")


def use(kit: Lot, *into: tuple[Stage | None, int], **facts):
    a, b = kit.part_lots.order_by("part")
    return mix((a, 100), (b, 33), into=into, **facts)


def address(subject: Subject, name: str = "recall", *kind: str) -> str:
    return reverse(name, args=[subject.what, subject.pk, *kind])


def text(answer) -> str:
    return " ".join(answer.content.decode().split())


def of(lot: Lot) -> Subject:
    return Subject(lot.product, lot=lot)


# What it finds


def test_a_kit_is_called_back_from_every_repair_with_its_grams_and_owner(manager, kit):
    use(kit, (stage("SILL"), 100), (stage("POST"), 33))
    page = text(manager.get(address(of(kit))))
    assert (
        "Lot K7 of Invented Resin went into 2 repairs on 2 members at 2 properties; 2 still" in page
    )
    assert "Owner of SILL" in page
    assert "75.19 g of K7-A, Part A (resin), fill" in page
    assert "mixed 4 May 2026" in page


def test_page_document_and_tables_say_the_same(manager, kit):
    use(kit, (stage("SILL"), 100), (stage("POST"), 33))
    lead = "Lot K7 of Invented Resin went into 2 repairs on 2 members at 2 properties"
    pdf = manager.get(address(of(kit), "recall-file", "pdf"), {"paper": "letter"})
    told = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf.content)).pages)
    assert "".join(lead.split()) in "".join(told.split())
    assert "Owner of POST" in " ".join(told.split())
    rows = list(csv.DictReader(StringIO(manager.get(
        address(of(kit), "recall-file", "csv")).content.decode("utf-8-sig"))))  # fmt: skip
    assert sum(Decimal(row["Amount"]) for row in rows) == 133
    assert {row["Contact"] for row in rows} == {"post@larkfield.example"}
    book = load_workbook(BytesIO(manager.get(address(of(kit), "recall-file", "xlsx")).content))
    assert book.sheetnames == ["Recall", "Repairs", "Lots"]
    assert len(list(book["Repairs"].values)) == 1 + len(rows) == 5
    assert str(book["Recall"]["A1"].value).startswith(lead)


def test_of_one_part_only_its_own_batches_are_told(kit):
    use(kit, (stage(), 133))
    a, _ = kit.part_lots.order_by("part")
    (row,) = recall_of(of(a), TODAY, None).affected
    assert [(one.lot, one.amount) for one in row.uses] == [(a, 100)]


def test_a_product_is_called_back_whole(kit):
    other = make.make_kit_lot(kit.product, number="K8")
    use(kit, (stage("SILL"), 133))
    use(other, (stage("POST"), 133))
    make.make_kit_lot(make.ProductFactory(), number="K9")
    found = recall_of(Subject(kit.product), TODAY, None)
    assert sorted(row.repair.member.mark for row in found.affected) == ["POST", "SILL"]
    assert len(found.accounts) == 4


def test_a_sheet_revision_is_called_back_by_the_batches_mixed_by_it(kit):
    with_it = use(kit, (stage("SILL"), 133))
    use(kit, (stage("POST"), 133))
    found = recall_of(Subject(kit.product, sheet=with_it.sheet), TODAY, None)
    assert [row.repair.member.mark for row in found.affected] == ["SILL"]
    assert [(each.in_repairs, each.received) for each in found.accounts] == [
        (100, None), (33, None),
    ]  # fmt: skip


def test_every_gram_of_a_lot_is_accounted_for(manager, kit):
    a, _ = kit.part_lots.order_by("part")
    use(kit, (stage("SILL"), 100), (None, 20))
    when = Occasion(timezone.now(), None, "Note")
    make.MovementFactory(lot=a, amount=Decimal(-10))
    stock.waste(a, Decimal(40), when)
    stock.count(a, Decimal(852), when)
    a = Lot.objects.get(pk=a.pk)
    (account,) = recall_of(of(a), TODAY, None).accounts
    gone = sum(amount for _, amount in account.not_linked)
    assert account.received == (
        account.in_repairs + account.wasted + account.not_placed + gone + account.remaining
    )
    page = text(manager.get(address(of(a))))
    assert (
        "Used, with no batch recorded: 10 g; Wasted in the stores: 40 g; Found by counting: −2 g"
        in page
    )
    assert "it may be in a building too" in page


def test_waste_and_what_was_withdrawn_are_in_no_repair(manager, kit):
    use(kit, (None, 133), mixed_for=stage("SILL"))
    sill = stage("POST")
    use(kit, (sill, 133))
    withdraw(sill.repair, "Another building", make.make_manager(), timezone.now())
    found = recall_of(of(kit), TODAY, None)
    assert (found.affected, found.withdrawn) == ((), 1)
    page = text(manager.get(address(of(kit))))
    assert "no repair that you may see holds any of it" in page
    assert "1 repair was withdrawn and gave back what was booked" in page


def test_what_stands_no_more_is_told_and_says_why(kit):
    given_up = date(2026, 6, 1)
    gone = {
        "POST": {"removed_on": given_up, "removed_reason": "Rotten"},
        "BEAM": {"building__demolished_on": given_up},
        "DOOR": {
            "building__property__given_up_on": given_up,
            "building__property__given_up_reason": "Sold",
        },
        "SILL": {},
    }
    for mark, facts in gone.items():
        use(kit, (stage(mark, **facts), 133))
    found = recall_of(of(kit), TODAY, None).affected
    assert {row.repair.member.mark: row.standing for row in found} == {
        "POST": "Member taken out 1 June 2026",
        "BEAM": "Building demolished 1 June 2026",
        "DOOR": "Property given up 1 June 2026",
        "SILL": "In place",
    }


def test_a_batch_with_no_lot_may_hold_any_that_had_come(kit):
    sill, post = stage("SILL"), stage("POST")
    sheet = make.SheetRevisionFactory(product=kit.product)
    make.BatchShareFactory(batch__sheet=sheet, stage=sill, amount=Decimal(80))
    early = make.BatchFactory(sheet=sheet, mixed_at=datetime(2025, 1, 1, tzinfo=UTC))
    make.BatchShareFactory(batch=early, stage=post)
    found = recall_of(of(kit), TODAY, None)
    assert [(row.repair, row.possibly) for row in found.affected] == [(sill.repair, True)]
    assert "may hold some: no lot is recorded" in found.lead
    whole = recall_of(Subject(kit.product), TODAY, None).affected
    assert {(row.repair, row.possibly) for row in whole} == {
        (sill.repair, False), (post.repair, False),
    }  # fmt: skip


def test_a_batch_of_no_lot_and_no_share_names_the_stage_it_was_mixed_for(manager, kit):
    sheet = make.SheetRevisionFactory(product=kit.product)
    make.BatchFactory(sheet=sheet, mixed_for=stage("SILL"))
    page = text(manager.get(address(Subject(kit.product))))
    assert "Not recorded of No lot recorded" in page


def test_the_owner_is_the_one_of_today(kit):
    sill = stage("SILL")
    use(kit, (sill, 133))
    place = sill.repair.member.building.property
    place.ownerships.update(to_on=date(2026, 6, 1))
    assert recall_of(of(kit), TODAY, None).affected[0].owner == "Not recorded"
    new = make.OwnershipFactory(property=place, from_on=date(2026, 6, 1))
    assert recall_of(of(kit), TODAY, None).affected[0].owner == new.owner.name


# Where it begins


def test_lots_are_found_by_a_part_of_their_number(manager, kit):
    page = text(manager.get(reverse("recall-choose"), {"number": "k7"}))
    assert address(of(kit)) in page
    assert "No lot of that number is kept" in text(
        manager.get(reverse("recall-choose"), {"number": "X\x00"})
    )


def test_a_product_or_a_sheet_chosen_leads_to_its_recall(manager, kit):
    sheet = make.SheetRevisionFactory(product=kit.product)
    choose = reverse("recall-choose")
    there = manager.get(choose, {"number": "", "product": kit.product_id})
    assert there.url == address(Subject(kit.product))
    there = manager.get(choose, {"number": "", "sheet": sheet.pk})
    assert there.url == address(Subject(kit.product, sheet=sheet))
    assert manager.get(there.url).status_code == 200


@pytest.mark.parametrize("path", ["lot/0", "sheet/9", "product/99999999999999999999", "tin/1"])
def test_what_does_not_exist_is_not_found(manager, path):
    assert manager.get(f"/stores/recall/{path}/").status_code == 404


def test_lot_product_and_stores_lead_here(manager, kit):
    make.SheetRevisionFactory(product=kit.product)
    assert address(of(kit)) in text(manager.get(kit.get_absolute_url()))
    page = text(manager.get(kit.product.get_absolute_url()))
    assert address(Subject(kit.product)) in page
    assert "/stores/recall/sheet/" in page
    assert reverse("recall-choose") in text(manager.get(reverse("store-list")))


# The looks


LOOK = {"due_on": "2026-12-09", "reason": "Stays soft, the maker calls it back"}


def send(client, kit, **changes):
    return client.post(address(of(kit), "recall-looks"), {**LOOK, **changes}, follow=True)


def test_each_repair_in_place_gets_one_look_with_the_reason(manager, kit):
    sill, post = stage("SILL"), stage("POST", removed_on=TODAY, removed_reason="Rotten")
    use(kit, (sill, 100), (post, 33))
    use(kit, (sill, 133))
    page = text(manager.get(address(of(kit), "recall-looks")))
    assert "1 repair in place holds some of lot K7 of Invented Resin" in page
    assert "One look is set for 9 December 2026." in text(send(manager, kit))
    (due,) = DueDate.objects.all()
    assert (due.repair, due.member, due.kind) == (sill.repair, sill.repair.member, "repair_look")
    assert due.due_on == date(2026, 12, 9)
    assert due.set_because.startswith(
        "Recall of lot K7 of Invented Resin: Stays soft, the maker calls it back. Set by Robin"
    )
    assert due.history.count() == 1
    assert due.history.get().history_user is not None


def test_sent_twice_it_sets_none_twice(manager, kit):
    use(kit, (stage("SILL"), 133))
    send(manager, kit)
    again = send(manager, kit, reason="Once more, in other words", due_on="2026-12-12")
    assert "No look is set. One repair has a look for this recall already." in text(again)
    assert DueDate.objects.count() == 1


def test_sent_twice_with_a_look_done_in_between_it_sets_none_twice(manager, kit):
    use(kit, (stage("SILL"), 133))
    send(manager, kit)
    DueDate.objects.get().answer(TODAY)
    send(manager, kit)
    assert DueDate.objects.count() == 1


def test_what_was_mixed_since_gets_its_look_when_it_is_sent_again(manager, kit):
    use(kit, (stage("SILL"), 133))
    send(manager, kit)
    use(kit, (stage("POST"), 133))
    page = text(send(manager, kit))
    assert "One look is set for 9 December 2026. One repair has a look for this recall" in page
    assert DueDate.objects.count() == 2


def test_another_recall_of_the_same_repair_sets_a_look_of_its_own(manager, kit):
    use(kit, (stage("SILL"), 133))
    send(manager, kit)
    manager.post(address(Subject(kit.product), "recall-looks"), LOOK)
    assert DueDate.objects.count() == 2


def test_those_that_may_hold_some_get_a_look_only_if_asked(manager, kit):
    sheet = make.SheetRevisionFactory(product=kit.product)
    make.BatchShareFactory(batch__sheet=sheet, stage=stage("SILL"))
    assert "No look is set" in text(send(manager, kit))
    assert "One look is set" in text(send(manager, kit, also_possible="on"))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"reason": ""}, "This field is required"), ({"due_on": "2026-11-24"}, "has passed"),
        ({"due_on": "soon"}, "Type the day like"), ({"reason": "x" * 121}, "120"),
    ],
)  # fmt: skip
def test_what_cannot_be_set_is_said_and_kept(manager, kit, changes, said):
    use(kit, (stage("SILL"), 133))
    page = text(send(manager, kit, **changes))
    assert "Nothing is saved yet" in page
    assert not DueDate.objects.exists()
    kept = {**LOOK, **changes}["reason"]
    assert kept in page


def test_the_look_is_for_once_and_is_answered_like_any_other(manager, kit):
    use(kit, (stage("SILL"), 133))
    send(manager, kit)
    due = DueDate.objects.get()
    assert "Stays soft" in text(manager.get(due.get_absolute_url()))


# Who may


def test_crew_read_a_recall_but_set_no_dates(client, kit):
    use(kit, (stage("SILL"), 133))
    client.force_login(make.make_crew())
    page = text(client.get(address(of(kit))))
    assert "SILL" in page
    assert "Set a look" not in page
    assert client.post(address(of(kit), "recall-looks"), LOOK).status_code == 403


def test_who_sees_not_every_property_is_told_only_how_many_stand_elsewhere(client, kit):
    from django.contrib.auth.models import Permission

    seen = stage("SILL")
    use(kit, (seen, 100), (stage("POST", building__property__name=HIDDEN), 33))
    user = make.make_viewer(seen.repair.member.building.property)
    user.user_permissions.add(Permission.objects.get(codename="view_lot"))
    client.force_login(user)
    for path in (address(of(kit)), address(of(kit), "recall-file", "csv")):
        assert HIDDEN not in text(client.get(path))
    page = text(client.get(address(of(kit))))
    assert "1 further repair stands on properties that you may not see" in page


def test_the_page_asks_no_more_of_many(manager, kit):
    def count(path: str) -> int:
        manager.get(path)
        with CaptureQueriesContext(connection) as queries:
            manager.get(path)
        return len(queries)

    def more(rows: int) -> None:
        for number in range(rows):
            lot = make.LotFactory(product=kit.product)
            mix(
                (lot, 10),
                into=((stage(f"M-{number}", building__name=f"B {Repair.objects.count()}"), 10),),
            )

    paths = [address(Subject(kit.product), *name) for name in (("recall",), ("recall-file", "csv"))]
    more(2)
    few = [count(path) for path in paths]
    more(60)
    assert [count(path) for path in paths] == few
    assert max(few) <= 14
    assert "Rows 1 to 50 of 62" in text(manager.get(paths[0]))


def test_setting_many_looks_takes_as_many_questions_as_few(manager, kit):
    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            send(manager, kit, reason=f"Reason {DueDate.objects.count()}")
        return len(queries)

    use(kit, (stage("SILL"), 133))
    few = count()
    for number in range(30):
        use(kit, (stage(f"M-{number}"), 133))
    assert count() <= few + 2
    assert DueDate.objects.count() == 31


def test_an_amount_that_looks_like_a_formula_stays_text(manager, kit):
    use(kit, (stage("=1+1"), 133))
    book = load_workbook(BytesIO(manager.get(address(of(kit), "recall-file", "xlsx")).content))
    marks = [row[6] for row in book["Repairs"].values][1:]
    assert set(marks) == {"'=1+1"}


def test_days_are_those_of_the_property(kit):
    late = NOW - timedelta(days=3, hours=-14)
    sill = stage("SILL", building__property__time_zone="Pacific/Auckland")
    use(kit, (sill, 133), mixed_at=late)
    (row,) = recall_of(of(kit), TODAY, None).affected
    assert row.mixed_on() == [date(2026, 11, 23)]

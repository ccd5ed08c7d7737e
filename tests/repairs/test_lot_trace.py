"""Where a lot went, to the gram: to every batch, repair, member and building, and back."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from materials import stock
from materials.models import Lot
from materials.stock import Occasion
from repairs.logbook.change import withdraw
from repairs.models import Batch, Repair, Stage
from repairs.stories.lot_trace import lots_in, trace
from tests import factories

pytestmark = pytest.mark.django_db


def when() -> Occasion:
    return Occasion(timezone.now(), None, "Note")


def stage(building: str = "Granary", mark: str = "N-SILL-01", **kwargs) -> Stage:
    member = factories.MemberFactory(mark=mark, building__name=building)
    return factories.StageFactory(repair=factories.RepairFactory(member=member, **kwargs))


def mix(*parts: tuple[Lot, int], into: tuple[tuple[Stage | None, int], ...],
        mixed_for: Stage | None = None, **kwargs) -> Batch:  # fmt: skip
    """A batch of so much of each lot, shared out as said; None is waste."""
    first = next((where for where, _ in into if where), None)
    batch = factories.BatchFactory(
        sheet=factories.SheetRevisionFactory(product=parts[0][0].product),
        mixed_for=mixed_for or first, **kwargs,
    )  # fmt: skip
    for lot, amount in parts:
        factories.BatchPartFactory(batch=batch, lot=lot, part=lot.part, amount=Decimal(amount))
    for where, amount in into:
        factories.BatchShareFactory(batch=batch, stage=where, amount=Decimal(amount))
    return batch


@pytest.fixture
def kit():
    return factories.make_kit_lot(factories.ProductFactory(), number="K7")


def told(found) -> list[tuple[str, Decimal, str]]:
    return [
        (each.member.mark if each.member else "", each.amount, each.went) for each in found.placings
    ]


def test_a_kit_is_followed_through_its_a_and_its_b(kit):
    sill, post = stage(mark="SILL"), stage("Barn", "POST")
    a, b = kit.part_lots.order_by("part")
    mix((a, 100), (b, 33), into=((sill, 100), (post, 20), (None, 7)))
    of_a, of_b = trace(kit)
    assert told(of_a)[:2] == [
        ("SILL", Decimal("75.189"), "stage"),
        ("POST", Decimal("15.037"), "stage"),
    ]
    assert [went for _, _, went in told(of_a)] == ["stage", "stage", "waste", "left"]
    assert sum(amount for _, amount, _ in told(of_a)) == 100
    assert sum(amount for _, amount, _ in told(of_b)) == 33
    assert (of_a.in_batches, of_a.remaining) == (100, 900)


def test_a_part_lot_is_followed_alone(kit):
    a, b = kit.part_lots.order_by("part")
    mix((a, 100), (b, 33), into=((stage(), 133),))
    (only_b,) = trace(b)
    assert told(only_b) == [("N-SILL-01", 33, "stage")]


def test_two_lots_of_a_in_one_batch_are_each_found():
    """Acceptance: part A runs out; 40 g from one lot and 60 g from the next."""
    product = factories.ProductFactory()
    a11, a12 = (factories.LotFactory(product=product, number=n) for n in ("A-11", "A-12"))
    b7 = factories.LotFactory(product=product, part="b", number="B-7")
    batch = mix((a11, 40), (a12, 60), (b7, 33), into=((stage(), 133),))
    for lot, amount in ((a11, 40), (a12, 60), (b7, 33)):
        (found,) = trace(lot)
        assert [placing.batch for placing in found.placings] == [batch]
        assert (found.in_batches, found.remaining) == (amount, 1000 - amount)


def test_what_no_batch_holds_is_said_by_its_kind():
    lot = factories.LotFactory()
    mix((lot, 100), into=((stage(), 100),))
    factories.MovementFactory(lot=lot, amount=Decimal(-10))
    stock.waste(lot, Decimal(40), when())
    stock.count(lot, Decimal(845), when())
    (found,) = trace(lot)
    assert [(each.words, each.amount) for each in found.not_linked] == [
        ("Used, with no batch recorded", -10), ("Wasted in the stores", -40),
        ("Found by counting", -5),
    ]  # fmt: skip
    stock.discard(lot, when())
    (found,) = trace(Lot.objects.get(pk=lot.pk))
    assert found.not_linked[-2].words == "Thrown away"
    assert found.remaining == 0


def test_a_batch_that_went_off_is_waste_of_the_repair_it_was_for():
    lot, sill = factories.LotFactory(), stage()
    mix((lot, 100), into=((None, 100),), mixed_for=sill, abandoned=True)
    (found,) = trace(lot)
    assert [(p.went, p.stage, p.repair) for p in found.placings] == [("waste", None, sill.repair)]


def test_a_withdrawn_repair_gives_back_and_is_still_told(kit):
    sill = stage()
    a, b = kit.part_lots.order_by("part")
    mix((a, 100), (b, 33), into=((sill, 133),))
    withdraw(sill.repair, "Another building", factories.make_manager(), timezone.now())
    of_a, _ = trace(kit)
    assert [placing.given_back for placing in of_a.placings] == [True]
    assert (of_a.in_batches, of_a.not_linked, of_a.remaining) == (0, (), 1000)
    assert lots_in(Repair.objects.all()) == {}


def test_from_a_repair_back_to_its_lots(kit):
    a, b = kit.part_lots.order_by("part")
    sill, post = stage(mark="SILL"), stage("Barn", "POST")
    mix((a, 100), (b, 33), into=((sill, 100), (post, 20), (None, 13)))
    other = factories.LotFactory()
    mix((other, 50), into=((post, 50),))
    assert set(lots_in(Repair.objects.filter(pk=sill.repair_id))) == {a, b}
    in_post = lots_in(Repair.objects.filter(member__building__name="Barn"))
    assert in_post[other] == 50
    assert in_post[a] == next(
        placing.amount for placing in trace(a)[0].placings if placing.stage == post
    )


class BothWays(TestCase):
    @settings(max_examples=25)
    @given(st.data())
    def test_every_gram_is_told_once_and_the_same_from_both_ends(self, data):
        product = factories.ProductFactory()
        lots = [factories.LotFactory(product=product) for _ in range(2)]
        stages = [stage(mark=f"M-{number}") for number in range(2)]
        grams = st.integers(1, 400)
        for _ in range(data.draw(st.integers(1, 3))):
            parts = [(lot, data.draw(grams)) for lot in lots]
            total = sum(amount for _, amount in parts)
            shares, left = [], total
            for where in (*stages, None):
                amount = data.draw(st.integers(0, left))
                left -= amount
                if amount:
                    shares.append((where, amount))
            mix(*parts, into=tuple(shares), mixed_for=stages[0])
        stock.waste(lots[0], Decimal(data.draw(grams)), when())
        for lot in lots:
            (found,) = trace(lot)
            unlinked = sum(each.amount for each in found.not_linked)
            assert found.received - found.in_batches + unlinked == found.remaining
            assert found.remaining == lot.remaining()
            back = lots_in(Repair.objects.all()).get(lot, Decimal(0))
            assert back == sum(p.amount for p in found.placings if p.went == "stage")


@pytest.fixture
def crew(client):
    client.force_login(factories.make_crew())
    return client


def test_the_page_of_a_lot_names_where_it_went(crew, kit):
    a, b = kit.part_lots.order_by("part")
    sill = stage("Granary", "N-SILL-03")
    batch = mix((a, 100), (b, 33), into=((sill, 100), (None, 20)))
    factories.KeptRemarkFactory(
        repair=sill.repair, batch=batch, found="12 days past its expiry", limit="31 March 2026"
    )
    page = crew.get(f"/lots/{kit.pk}/").text
    for words in (
        "N-SILL-03", "Granary", "4 May 2026", "75.19 g", "Waste", "Not yet placed",
        "12 days past its expiry (limit: 31 March 2026)", sill.repair.get_absolute_url(),
        sill.repair.member.get_absolute_url(), "Part A: 100 g in batches",
    ):  # fmt: skip
        assert words in page, words


def test_a_batch_is_dated_by_the_clock_of_its_property(crew):
    sill = stage()
    prop = sill.repair.member.building.property
    prop.time_zone = "Pacific/Auckland"
    prop.save()
    lot = factories.LotFactory()
    mix((lot, 10), into=((sill, 10),), mixed_at=factories.MORNING + timedelta(hours=6))
    assert "5 May 2026" in crew.get(f"/lots/{lot.pk}/").text


def test_one_who_sees_not_every_property_is_told_no_names(client):
    from django.contrib.auth.models import Permission

    user = factories.make_viewer()
    user.user_permissions.add(Permission.objects.get(codename="view_lot"))
    client.force_login(user)
    lot, sill = factories.LotFactory(), stage("Secret House", "N-SILL-99")
    mix((lot, 10), into=((sill, 10),))
    page = client.get(f"/lots/{lot.pk}/").text
    assert "another property" in page
    assert "Secret House" not in page
    assert "N-SILL-99" not in page


def test_a_lot_with_a_kit_shows_both_ledgers_and_its_price(crew, kit):
    page = crew.get(f"/lots/{kit.pk}/").text
    assert "Ledger of part A, lot K7-A" in page
    assert "Ledger of part B, lot K7-B" in page
    assert "GBP 60.00 for one kit" in page
    part = crew.get(f"/lots/{kit.part_lots.get(part='a').pk}/").text
    assert "GBP 60.00 for the kit" in part
    assert "GBP 4.51 for 100 g" in part


def test_what_is_not_known_is_said(crew):
    lot = factories.LotFactory(expires_on=None)
    page = crew.get(f"/lots/{lot.pk}/").text
    assert "Not known: no expiry and no shelf life is recorded" in page
    assert "None entered" in page
    assert page.count("Not recorded") >= 5


def test_a_lot_used_often_asks_the_database_no_more(crew, django_assert_max_num_queries):
    kit = factories.make_kit_lot(factories.ProductFactory(), a=90000, b=30000)
    a, b = kit.part_lots.order_by("part")
    for _ in range(12):
        mix((a, 100), (b, 33), into=((stage(), 100), (stage(), 20)))
    for pk in (kit.pk, a.pk):
        with django_assert_max_num_queries(12):
            assert crew.get(f"/lots/{pk}/").status_code == 200


def test_no_such_lot(crew):
    assert crew.get("/lots/999/").status_code == 404


def test_the_way_back_from_a_building_to_its_lots(crew, kit, django_assert_max_num_queries):
    a, b = kit.part_lots.order_by("part")
    sill = stage("Granary", "N-SILL-03")
    for _ in range(6):
        other = factories.LotFactory()
        mix((a, 100), (b, 33), into=((sill, 100), (None, 33)))
        mix((other, 10), into=((sill, 10),))
    with django_assert_max_num_queries(12):
        page = crew.get(f"/buildings/{sill.repair.member.building_id}/lots/").text
    assert "8 lots stand in the repairs of this building" in page
    assert "451.1 g" in page
    empty = factories.BuildingFactory()
    assert "No lot is recorded here yet." in crew.get(f"/buildings/{empty.pk}/lots/").text


def test_a_viewer_is_not_told_the_lots_of_a_building(client):
    building = factories.BuildingFactory()
    client.force_login(factories.make_viewer(building.property))
    assert client.get(f"/buildings/{building.pk}/lots/").status_code == 403


def test_scenario_8_lots_of_a_property_given_up_are_still_followed(crew, kit):
    a, b = kit.part_lots.order_by("part")
    sill = stage("Granary", "N-SILL-03")
    mix((a, 100), (b, 33), into=((sill, 133),))
    of = sill.repair.member.building.property
    of.given_up_on, of.given_up_reason = sill.began_at.date(), "sold"
    of.save()
    (of_a,) = trace(a)
    assert told(of_a) == [("N-SILL-03", Decimal(100), "stage")]
    assert "N-SILL-03" in crew.get(f"/lots/{a.pk}/").text


def test_a_kit_is_open_once_a_batch_was_mixed_from_its_parts(client):
    kit = factories.make_kit_lot(factories.ProductFactory(), number="K-77")
    client.force_login(factories.make_crew())
    address = kit.get_absolute_url()
    assert "Open it" in client.get(address).content.decode()
    kit.part_lots.update(opened_on=kit.received_on)
    words = client.get(address).content.decode()
    assert "Open it" not in words
    assert "Change the day of opening" in words

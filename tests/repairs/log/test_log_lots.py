"""Which lots a batch on the log page takes from, and which ones are offered."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from materials.models import Lot, Product
from repairs.models import Batch, Repair
from tests.factories import (
    LotFactory,
    MemberFactory,
    ProductFactory,
    SheetRevisionFactory,
    make_kit_lot,
)
from tests.repairs.log.form import LOG, said, typed

# Two lots in one batch


def test_two_lots_of_a_in_one_batch_stand_as_three_lines(page, sill, resin):
    first = LotFactory(product=resin, part="a", number="A-11")
    second = LotFactory(product=resin, part="a", number="A-12", expires_on=date(2028, 1, 1))
    hardener = LotFactory(product=resin, part="b", number="B-5")
    form = typed(sill, first, **{
        "stage-0-batch-0-amount": "40 g + 33 g",
        "stage-0-batch-0-a2_number": "a-12",
        "stage-0-batch-0-a2_amount": "60 g",
    })  # fmt: skip
    answer = page.post(LOG, form)
    assert answer.status_code == 302, said(answer)
    taken = {part.lot.number: part.amount for part in Batch.objects.get().parts.all()}
    assert taken == {"A-11": Decimal(40), "A-12": Decimal(60), "B-5": Decimal(33)}
    assert (second.remaining(), hardener.remaining()) == (Decimal(940), Decimal(967))


def test_a_lot_number_that_is_not_in_stores_is_answered_with_those_that_are(page, sill, resin):
    first = LotFactory(product=resin, part="a", number="A-11")
    LotFactory(product=resin, part="b", number="B-5")
    words = said(page.post(LOG, typed(sill, first, **{"stage-0-batch-0-b_number": "B-6"})))
    assert "has the number “B-6”. In stores: B-5." in words


def test_a_share_of_a_kit_wants_a_kit(page, sill, resin):
    loose = LotFactory(product=resin, part="a")
    LotFactory(product=resin, part="b")
    form = typed(sill, loose, **{"stage-0-batch-0-amount": "0.5 kit"})
    assert "This lot is not a kit" in said(page.post(LOG, form))


def test_a_one_part_lot_takes_one_amount_by_volume(page, sill):
    paint = ProductFactory(parts=1, kind=Product.Kind.PAINT)
    SheetRevisionFactory(product=paint, weight_a=None, weight_b=None)
    tin = LotFactory(product=paint, part=Lot.Part.ONE, unit="ml")
    form = typed(sill, tin, **{"stage-0-kind": "paint", "stage-0-batch-0-amount": "12 US fl oz",
                               "stage-0-batch-0-used": ""})  # fmt: skip
    answer = page.post(LOG, form)
    assert answer.status_code == 302, said(answer)
    assert tin.remaining() == Decimal(1000) - Decimal("354.882")


def test_what_is_kept_of_a_batch_goes_into_the_next_member(page, sill, kit):
    page.post(LOG, typed(sill, kit, **{"stage-0-batch-0-left_over": "40 g"}))
    first = Batch.objects.get()
    other = MemberFactory(building=sill.building, elevation=sill.elevation)
    assert "40 g left over" in said(page.get(f"{LOG}?member={other.pk}"))
    none = dict.fromkeys((name for name in typed(sill, kit) if "batch" in name), "")
    taken = {"stage-0-at": "10:20", "stage-0-earlier": str(first.pk),
             "stage-0-earlier_amount": "40"}  # fmt: skip
    answer = page.post(LOG, typed(other, kit, **none, **taken))
    assert answer.status_code == 302, answer.context["page"].wrong()
    shares = {share.stage.repair.member: share.amount for share in first.shares.all()}
    assert shares == {sill: Decimal(93), other: Decimal(40)}


def test_a_batch_that_went_off_in_the_pot_is_all_waste(page, sill, kit):
    answer = page.post(LOG, typed(sill, kit, **{"stage-0-batch-0-abandoned": "on"}))
    assert answer.status_code == 302, answer.context["page"].wrong()
    assert [share.stage for share in Batch.objects.get().shares.all()] == [None]
    assert kit.part_lots.get(part="a").remaining() == 900


def test_more_wasted_than_mixed_is_refused_beside_its_field(page, sill, kit):
    answer = page.post(LOG, typed(sill, kit, **{"stage-0-batch-0-waste": "500 g"}))
    lines = answer.context["page"].wrong()
    assert [line.place for line in lines] == ["1. Seal, batch 1, Thrown away"]
    assert not Repair.objects.exists()


def test_a_lot_on_its_last_day_is_used_without_a_word(page, sill, resin):
    last = make_kit_lot(resin, expires_on=date(2026, 5, 6))
    assert page.post(LOG, typed(sill, last)).status_code == 302


# What is offered


def test_what_expires_soonest_is_offered_first_and_what_cannot_be_used_last(page, resin):
    late = make_kit_lot(resin, number="LATE", expires_on=date(2027, 12, 1))
    soon = make_kit_lot(resin, number="SOON", expires_on=date(2026, 6, 1))
    past = make_kit_lot(resin, number="PAST", expires_on=date(2026, 3, 31))
    choices = page.get(LOG).context["page"].stages[0].batches[0].fields["lot"].choices
    assert [value for value, _ in choices[1][1]] == [str(soon.pk), str(late.pk)]
    assert choices[-1][0] == "Not usable"
    assert choices[-1][1][0][0] == str(past.pk)
    assert "past its last day, 31 March 2026" in choices[-1][1][0][1]


def test_each_lot_says_what_remains_and_until_when(page, kit):
    words = said(page.get(LOG))
    assert "Invented Seal · K-17 · 1 kit, 1,000 g + 330 g left · use by 30 Jun 2027" in words

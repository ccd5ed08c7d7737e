from dataclasses import replace
from decimal import Decimal

import pytest
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from repairs.logbook.book_batch import split_amount, unplaced_amount
from repairs.logbook.change import withdraw
from repairs.logbook.entry import EarlierBatchEntry
from repairs.models import Batch, CostLine
from tests.factories import MORNING, MemberFactory, make_kit_lot, make_manager
from tests.repairs.made_entries import (
    HOUR,
    NOW,
    batch,
    entry,
    log,
    make_sheet,
    part,
    stage,
)

AMOUNTS = st.decimals(Decimal("0.001"), 10**6, places=3)


@given(total=AMOUNTS, weights=st.lists(AMOUNTS, min_size=1, max_size=6))
def test_an_amount_is_split_without_a_remainder(total, weights):
    shares = split_amount(total, weights)
    assert sum(shares) == total
    assert all(share == share.quantize(Decimal("0.001")) for share in shares)
    assert min(shares) >= 0


def mixed_kit(price_minor, left_over):
    """A whole kit of 1330 g in one batch, some of it left over for later repairs."""
    sheet = make_sheet()
    kit = make_kit_lot(sheet.product, price_minor=price_minor)
    a, b = kit.part_lots.order_by("part")
    whole = batch(
        sheet,
        part(a, 1000, "1"),
        part(b, 330, "1"),
        basis="kit",
        typed="1 kit",
        left_over=Decimal(left_over),
    )
    repair = log(entry(MemberFactory(), stage("seal", whole, moisture_pct=Decimal(12))))
    return repair.stages.get().batches_mixed.get()


def take(mixed: Batch, amount):
    taken = EarlierBatchEntry(mixed, Decimal(amount))
    return log(entry(MemberFactory(), stage("fill", at=MORNING + HOUR, earlier_batches=(taken,))))


def borne(mixed: Batch):
    return mixed.cost_lines.aggregate(total=Sum("amount_minor"))["total"]


@pytest.mark.django_db
@given(
    price=st.integers(1, 10**7),
    taken=st.lists(st.integers(1, 300), min_size=1, max_size=4),
    given_up=st.integers(0, 3),
)
@settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_money_of_a_batch_never_changes_in_sum(price, taken, given_up):
    mixed = mixed_kit(price, left_over=1300)
    assert borne(mixed) == price
    repairs = []
    for amount in taken:
        repairs.append(take(mixed, amount))
        assert borne(mixed) == price
    if given_up < len(repairs):
        withdraw(repairs[given_up], "wrong sill", make_manager(), NOW)
        assert borne(mixed) == price
        assert not CostLine.objects.filter(
            repair=repairs[given_up], reverses=None, reversed_by=None
        ).exists()


@pytest.mark.django_db
def test_what_is_not_taken_stays_with_the_repair_that_mixed_it():
    mixed = mixed_kit(6000, left_over=665)
    assert borne(mixed) == 6000
    second = take(mixed, 100)
    assert unplaced_amount(mixed) == 565
    # 100 g to 665 g used: the rest follows in the same proportion.
    assert second.cost_lines.get().amount_minor == round(6000 * 100 / 765)


@pytest.mark.django_db
def test_a_batch_over_two_stages_of_one_repair_stands_on_each():
    mixed = mixed_kit(6000, left_over=665)
    member = mixed.mixed_for.repair.member
    taken = EarlierBatchEntry(mixed, Decimal(665))
    made = entry(member, stage("fill", at=MORNING + HOUR, earlier_batches=(taken,)))
    log(replace(made, stages=(*made.stages, stage("shape", at=MORNING + 2 * HOUR))))
    standing = mixed.cost_lines.filter(reverses=None, reversed_by=None)
    assert sorted(standing.values_list("amount_minor", flat=True)) == [3000, 3000]

"""Lots and their ledger: what the database itself refuses, and questions that have a twin."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.urls import reverse

from materials.append_only import AppendOnlyError
from materials.lot_state import kits_in_words, states_of
from materials.models import Lot, Movement
from tests import factories
from tests.factories import MORNING

pytestmark = pytest.mark.django_db
ON, MARCH = date(2026, 5, 4), date(2026, 3, 31)


def refused(make) -> bool:
    """Whether the database refuses it, whatever the forms say."""
    try:
        with transaction.atomic():
            make()
    except IntegrityError:
        return True
    return False


def sample_lots() -> list[Lot]:
    """Lots at the edges of being usable, low and overdrawn."""
    for expires_on in (None, ON, ON - timedelta(days=1), ON + timedelta(days=1)):
        for held in (False, True):
            for emptied_on in (None, ON):
                factories.LotFactory(
                    expires_on=expires_on, held_back=held, held_back_reason="Why" if held else "",
                    emptied_on=emptied_on,
                )  # fmt: skip
    for low_below in ("999.999", "1000", "1000.001"):
        factories.LotFactory(low_below=Decimal(low_below))
    for used in ("999.999", "1000", "1000.001"):
        factories.MovementFactory(lot=factories.LotFactory(), amount=-Decimal(used))
    tenths = factories.LotFactory(received=Decimal("0.3"))
    for used in ("0.1", "0.2"):
        factories.MovementFactory(lot=tenths, amount=-Decimal(used))
    factories.make_kit_lot(factories.ProductFactory())
    return list(Lot.objects.with_remaining())


def test_usable_lots_are_those_that_say_so_themselves():
    lots = sample_lots()
    assert set(Lot.objects.usable(ON)) == {lot for lot in lots if lot.is_usable(ON)}


def test_lots_to_be_counted_are_those_that_say_so_themselves():
    lots = [lot for lot in sample_lots() if lot.emptied_on is None]
    assert set(Lot.objects.needing_count()) == {lot for lot in lots if lot.count_needed()}


def test_lots_running_low_are_those_that_say_so_themselves():
    lots = [lot for lot in sample_lots() if lot.emptied_on is None]
    assert set(Lot.objects.running_low()) == {lot for lot in lots if lot.runs_low()}


def test_expired_lots_are_those_whose_state_says_so():
    lots = [lot for lot in sample_lots() if lot.emptied_on is None]
    say_so = {lot for lot in lots if any(state.mark == "expired" for state in states_of(lot, ON))}
    assert set(Lot.objects.expired(ON)) == say_so


def test_the_day_of_expiry_itself_is_still_valid():
    lot = factories.LotFactory(expires_on=ON)
    assert lot.is_usable(ON)
    assert not lot.is_usable(ON + timedelta(days=1))


def test_remaining_is_the_same_with_and_without_annotation():
    for annotated in sample_lots():
        plain = Lot.objects.get(pk=annotated.pk)
        assert annotated.remaining() == plain.remaining()
        assert annotated.received() == plain.received()


def test_three_tenths_less_one_and_two_is_nothing():
    lot = factories.LotFactory(received=Decimal("0.3"))
    for used in ("0.1", "0.2"):
        factories.MovementFactory(lot=lot, amount=-Decimal(used))
    assert lot.remaining() == 0
    assert not lot.count_needed()


@pytest.mark.parametrize(
    ("given", "day", "words"),
    [
        ({"expires_on": date(2027, 6, 30)}, date(2027, 6, 30), "printed"),
        ({"made_on": date(2025, 12, 31)}, date(2026, 12, 31), "made"),
        ({}, date(2027, 1, 10), "received"),
        ({"opened_on": MARCH}, date(2026, 6, 30), "opened"),
        ({"expires_on": date(2026, 4, 1), "opened_on": MARCH}, date(2026, 4, 1), "printed"),
        ({"expires_on": date(2030, 1, 1), "opened_on": MARCH}, date(2026, 6, 30), "opened"),
    ],
)  # fmt: skip
def test_the_last_usable_day_and_the_rule_that_sets_it(given, day, words):
    sheet = factories.SheetRevisionFactory(
        shelf_life_unopened_months=12, shelf_life_opened_months=3
    )
    lot = factories.LotFactory(product=sheet.product, **({"expires_on": None} | given))
    assert (lot.usable_until, lot.shelf().rule) == (day, words)


def test_a_lot_of_a_silent_sheet_has_no_last_day():
    lot = factories.LotFactory(expires_on=None)
    assert lot.usable_until is None
    assert lot.is_usable(date(2225, 1, 1))


def test_a_save_of_one_field_keeps_the_last_day_in_step():
    sheet = factories.SheetRevisionFactory(shelf_life_opened_months=3)
    lot = factories.LotFactory(product=sheet.product)
    lot.opened_on = date(2026, 2, 1)
    lot.save(update_fields=["opened_on"])
    lot.refresh_from_db()
    assert lot.usable_until == date(2026, 5, 1)


@pytest.mark.parametrize(
    "wrong",
    [{"part": "kit"}, {"part": "kit", "kits_received": Decimal(0)}, {"kits_received": Decimal(1)}],
)
def test_only_a_kit_counts_packs_and_it_counts_some(wrong):
    product = factories.ProductFactory()
    assert refused(lambda: factories.LotFactory(product=product, received=0, **wrong))


def test_a_lot_number_may_come_again_on_another_day():
    lot = factories.LotFactory()
    factories.LotFactory(product=lot.product, number=lot.number, received_on=date(2026, 2, 1))


def test_a_kit_has_one_a_and_one_b_and_no_one_part_lot():
    kit = factories.make_kit_lot(factories.ProductFactory())
    for part in ("a", "one", "kit"):
        given = {"product": kit.product, "part": part, "parent": kit, "received": 0}
        given["kits_received"] = Decimal(1) if part == "kit" else None
        assert refused(lambda given=given: factories.LotFactory(**given))


def test_a_part_of_another_product_does_not_belong_to_a_kit():
    kit = factories.make_kit_lot(factories.ProductFactory())
    with pytest.raises(ValidationError, match="The kit is of another product"):
        factories.LotFactory.build(product=factories.ProductFactory(), parent=kit).clean()


@pytest.mark.parametrize(
    ("kind", "amount"),
    [("received", "-1"), ("received", "0"), ("used", "1"), ("used", "0"), ("wasted", "1"),
     ("discarded", "1"), ("moved", "-1")],
)  # fmt: skip
def test_the_ledger_refuses_a_sign_that_does_not_fit(kind, amount):
    lot = factories.LotFactory()
    assert refused(
        lambda: Movement.objects.create(lot=lot, kind=kind, amount=Decimal(amount), at=MORNING)
    )


def test_the_ledger_is_only_ever_added_to():
    line = factories.MovementFactory()
    with pytest.raises(AppendOnlyError):
        line.save()
    with pytest.raises(AppendOnlyError):
        line.delete()
    with pytest.raises(AppendOnlyError):
        Movement.objects.update(amount=0)
    with pytest.raises(AppendOnlyError):
        Movement.objects.all().delete()


def test_a_line_is_taken_back_once():
    line = factories.MovementFactory()

    def take_back() -> None:
        Movement.objects.create(
            lot=line.lot, kind=line.kind, amount=-line.amount, at=MORNING, reverses=line
        )

    take_back()
    assert refused(take_back)


def test_a_product_with_lots_and_a_lot_with_lines_cannot_be_removed():
    lot = factories.LotFactory()
    with pytest.raises(models.ProtectedError):
        lot.delete()
    with pytest.raises(models.ProtectedError):
        lot.product.delete()


def test_a_received_line_taken_back_no_longer_counts_as_received():
    lot = factories.LotFactory()
    line = lot.movements.get()
    Movement.objects.create(
        lot=lot, kind="received", amount=-line.amount, at=MORNING, reverses=line
    )
    assert (lot.received(), lot.remaining()) == (0, 0)
    assert lot.cost_of(Decimal(10)) is None


@pytest.mark.parametrize(
    ("kits", "words"),
    [("0", "0 kits"), ("0.255", "0.25 kit"), ("1", "1 kit"), ("1.999", "1.99 kits"),
     ("-0.5", "−0.5 kits"), ("10", "10 kits"), ("-0.001", "0 kits")],
)  # fmt: skip
def test_kits_are_cut_to_hundredths(kits, words):
    assert kits_in_words(Decimal(kits)) == words


@pytest.mark.parametrize("typed", ["A-1O", "a1", "O0", "%", "_", "'", "\\", "", "  "])
def test_a_number_is_sought_without_a_slip(typed):
    factories.LotFactory(number="A-10")
    assert Lot.objects.numbered_like(typed).count() in (0, 1)


def test_a_lot_has_a_page():
    lot = factories.LotFactory()
    assert lot.get_absolute_url() == reverse("lot-detail", args=[lot.pk])
    assert lot.number in str(lot)

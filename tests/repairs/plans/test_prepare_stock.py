"""What the stores give for a plan, what is to be bought, and what it costs."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from materials.models import Kit, Lot, Product, SheetRevision
from repairs.models import PlanOption
from repairs.plans.prepare import prepare
from tests.factories import MORNING, KitFactory, LotFactory, MovementFactory, make_kit_lot
from tests.repairs.plans.made import plan_rows, shape, sheet_of, stage, worked_out

pytestmark = pytest.mark.django_db

ACCESS = {"labour_hours": Decimal(0), "access_minor": 0}


def filling(sheet, ml=400, **about):
    """A filling of so many millilitres, which weigh as many grams."""
    return worked_out([stage("fill", sheet)], shapes=[shape(100, 100, Decimal(ml) / 10)], **about)


def putty(**figures):
    return sheet_of("filler", weight_a=Decimal(3), weight_b=Decimal(1), layer_max_mm=Decimal(500),
                    pot_life_mass_g=None, **figures)  # fmt: skip


def drawn(stock):
    return {each.lot.number: each.drawn.amount for each in stock.draws}


def test_soonest_expiry_is_drawn_first():
    sheet = putty()
    for number, expires in (("LATE", date(2027, 9, 1)), ("SOON", date(2026, 9, 1))):
        LotFactory(product=sheet.product, number=number, expires_on=expires, received=200)
    LotFactory(product=sheet.product, part="b", number="B")
    (stock,) = filling(sheet).stock
    assert drawn(stock) == {"SOON": 200, "LATE": 100, "B": 100}
    assert stock.purchase is None
    assert {each.lot.number: each.drawn.left for each in stock.draws}["LATE"] == 100
    assert all(each.stages == (1,) for each in stock.draws)


def test_scenario_5_a_lot_that_will_have_expired_is_left_out_and_told():
    sheet = putty()
    LotFactory(product=sheet.product, number="OLD", expires_on=date(2026, 5, 4))
    LotFactory(product=sheet.product, number="NEW", expires_on=date(2026, 5, 5))
    LotFactory(product=sheet.product, part="b", number="B")
    tomorrow = filling(sheet, starts_at=MORNING + timedelta(days=1))
    assert drawn(tomorrow.stock[0]) == {"NEW": 300, "B": 100}
    assert "Lot OLD is left out" in tomorrow.stock[0].remark
    assert "4 May 2026" in tomorrow.stock[0].remark


def test_a_lot_must_last_until_the_day_of_its_own_stage():
    paint = sheet_of("paint", parts=1)
    for number, last in (("SOON", date(2026, 5, 4)), ("LATER", date(2026, 9, 1))):
        LotFactory(product=paint.product, part="one", unit="ml", number=number, expires_on=last)
    resin = putty()
    made = worked_out(
        [stage("fill", resin), stage("paint", paint)],
        shapes=[shape(100, 100, 20)],
        paint_m2=Decimal(1),
    )
    assert made.stages[1].days.begins_at.date() == date(2026, 5, 5)
    assert drawn(made.stock[1]) == {"LATER": 200}


def test_a_held_back_lot_is_left_out_with_its_reason():
    sheet = putty()
    LotFactory(product=sheet.product, number="A1", held_back=True, held_back_reason="it smells")
    (stock,) = filling(sheet).stock
    assert stock.draws == ()
    assert "it smells" in stock.remark


def test_nothing_on_hand_and_no_pack_says_so():
    (stock,) = filling(putty()).stock
    assert (stock.draws, stock.purchase) == ((), None)
    assert stock.short == {"a": 300, "b": 100}
    assert "no pack" in stock.remark


def test_whole_kits_are_bought_and_only_what_is_used_of_them_counts():
    sheet = putty(shelf_life_unopened_months=24, shelf_life_opened_months=6)
    KitFactory(product=sheet.product, mass_a_g=240, mass_b_g=80, price_minor=6000)
    made = filling(sheet, **ACCESS)
    (stock,) = made.stock
    assert (stock.purchase.kits, stock.purchase.cost_minor) == (2, 12000)
    assert stock.purchase.left == {"a": 180, "b": 60}
    assert stock.purchase.left_until == date(2026, 11, 4)
    # Of 640 g bought for 120.00, 400 g are used.
    assert (stock.used_minor, made.total_minor, made.to_pay_minor) == (7500, 7500, 12000)


def test_scenario_10_half_a_kit_costs_half_of_it_to_the_cent():
    sheet = putty()
    make_kit_lot(sheet.product, a=600, b=200, price_minor=6001)
    made = filling(sheet, **ACCESS)
    assert sum(each.cost_minor for each in made.stock[0].draws) == 3001
    assert made.total_minor == 3001


def test_what_is_short_after_the_stores_is_bought():
    sheet = putty()
    make_kit_lot(sheet.product, a=150, b=200, price_minor=7000)
    KitFactory(product=sheet.product, mass_a_g=300, mass_b_g=100, price_minor=4000)
    made = filling(sheet, **ACCESS)
    assert made.stock[0].short == {"a": 150}
    # 250 of 350 g for 70.00, and 150 of 400 g for 40.00.
    assert made.total_minor == 5000 + 1500


def test_the_pack_that_costs_least_in_all_is_chosen():
    sheet = putty()
    KitFactory(product=sheet.product, name="Large", mass_a_g=900, mass_b_g=300, price_minor=9000)
    KitFactory(product=sheet.product, name="Small", mass_a_g=150, mass_b_g=50, price_minor=3000)
    KitFactory(product=sheet.product, name="Unpriced", mass_a_g=300, mass_b_g=100, price_minor=None)
    (stock,) = filling(sheet).stock
    assert (stock.kit.name, stock.purchase.kits) == ("Small", 2)


def test_a_pack_priced_in_the_propertys_currency_comes_first():
    sheet = putty()
    KitFactory(product=sheet.product, name="Abroad", price_minor=1, currency="EUR")
    KitFactory(product=sheet.product, name="Here", price_minor=9000)
    assert filling(sheet).stock[0].kit.name == "Here"


def test_lots_in_millilitres_serve_a_plan_in_grams_by_their_density():
    sheet = putty(density_a_g_ml=Decimal("1.5"))
    LotFactory(product=sheet.product, unit="ml", number="A", received=1000)
    LotFactory(product=sheet.product, part="b", number="B")
    (stock,) = filling(sheet).stock
    assert drawn(stock) == {"A": 200, "B": 100}


def test_a_lot_in_millilitres_without_a_density_is_left_out_and_told():
    sheet = putty(density_a_g_ml=None)
    LotFactory(product=sheet.product, unit="ml", number="A-ML")
    (stock,) = filling(sheet).stock
    assert stock.short["a"] == 300
    assert "Lot A-ML is kept in millilitres" in stock.remark


def test_paint_kept_in_millilitres_is_drawn_in_millilitres():
    paint = sheet_of("paint", parts=1, density_a_g_ml=None)
    LotFactory(product=paint.product, part="one", unit="ml", number="TIN", price_minor=5000)
    made = worked_out([stage("paint", paint)], paint_m2=Decimal("0.5"), measured="none", **ACCESS)
    assert drawn(made.stock[0]) == {"TIN": 100}
    assert made.total_minor == 500


def test_two_stages_of_one_product_share_its_lots():
    sheet = putty()
    make_kit_lot(sheet.product, a=600, b=200)
    made = worked_out([stage("seal", sheet), stage("fill", sheet)], shapes=[shape(100, 100, 40)])
    (stock,) = made.stock
    assert stock.need["a"] > 300
    assert {each.stages for each in stock.draws} == {(1, 2)}


def test_a_price_in_another_currency_leaves_the_total_open():
    sheet = putty()
    make_kit_lot(sheet.product, a=600, b=200, currency="EUR")
    made = filling(sheet, **ACCESS)
    assert made.total_minor is None
    assert "priced in EUR" in made.costs[0].basis


def test_what_is_not_entered_leaves_the_total_open_and_is_named():
    sheet = putty()
    make_kit_lot(sheet.product, a=600, b=200, price_minor=None)
    made = filling(sheet)
    assert [line.minor for line in made.costs] == [None, None, None]
    assert "no price of lot" in made.costs[0].basis
    assert "hours" in made.costs[1].basis


def test_a_stage_of_which_the_amount_is_not_known_leaves_the_total_open():
    made = worked_out([stage("fill", putty()), stage("prime")], **ACCESS)
    assert made.total_minor is None
    assert [line.words for line in made.costs][1] == "Prime"
    assert "how much" in made.costs[0].basis


def test_nothing_to_paint_costs_nothing():
    paint = sheet_of("paint", parts=1)
    made = worked_out([stage("paint", paint)], paint_m2=Decimal(0), measured="none", **ACCESS)
    assert made.total_minor == 0


def test_labour_is_hours_at_a_rate():
    paid = worked_out([stage("dry")], labour_hours=Decimal("2.5"), labour_rate_minor=3333)
    assert paid.costs[0].minor == 8333


def test_a_plan_far_from_the_cost_compared_is_told():
    option = PlanOption(kind="repair", first_minor=90000, life_years=Decimal(10))
    made = worked_out(
        [stage("dry")], options=[option], labour_hours=Decimal(1), labour_rate_minor=3000,
        access_minor=0,
    )  # fmt: skip
    assert "option-differs" in {remark.code for remark in made.remarks}


def test_queries_are_few_whatever_the_number_of_lots():
    sheet = putty()
    for _ in range(5):
        make_kit_lot(sheet.product, a=10, b=10)
    few = counted(sheet)
    for _ in range(30):
        lot = LotFactory(product=sheet.product, received=10)
        MovementFactory(lot=lot, amount=-1)
    for _ in range(5):
        make_kit_lot(sheet.product, a=10, b=10)
        KitFactory(product=sheet.product)
        LotFactory(product=sheet_of("sealer").product)
    assert counted(sheet) == few
    assert few <= 12


def counted(sheet):
    sheet = SheetRevision.objects.select_related("product").get(pk=sheet.pk)
    rows = plan_rows([stage("seal", sheet), stage("fill", sheet)], shapes=[shape(100, 100, 40)])
    with CaptureQueriesContext(connection) as queries:
        prepare(rows, MORNING)
    return len(queries)


def test_working_a_plan_out_writes_nothing():
    sheet = putty()
    make_kit_lot(sheet.product)
    KitFactory(product=sheet.product)
    before = [kind.objects.count() for kind in (Lot, Kit, Product)]
    filling(sheet)
    assert [kind.objects.count() for kind in (Lot, Kit, Product)] == before
    assert all(lot.is_usable(date(2026, 5, 4)) for lot in Lot.objects.all())

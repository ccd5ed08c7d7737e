"""One repair as the trade really does it, entered through the browser and checked by hand.

Seal with a laminating resin mixed 100 : 33 by weight, pot life 60 minutes, full cure 24 hours;
fill with a putty 2 : 1, working time 90 minutes in a thick piece to 3 hours in a thin one, at
least 13 mm (1/2 in) thick to keep its heat resistance, full cure 24 hours; then paint: just over
48 hours in all. Half of one kit and a quarter of another are booked as material cost. All these
figures are common practice, no source; the products, prices and places are invented."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from playwright.sync_api import Page, expect

from materials.models import Kit, Lot, Product
from repairs.models import CostLine, Repair
from tests.factories import (
    DefectFactory,
    LotFactory,
    MemberFactory,
    ProductFactory,
    SheetRevisionFactory,
    make_crew,
    make_kit_lot,
)
from tests.repairs.hands import Hands, signed_in, wait_until_saved

pytestmark = pytest.mark.browser
# London keeps summer time on these days: one hour ahead of UTC.
RECEIVED = date(2025, 1, 10)
USUAL = {
    "cure_time": timedelta(hours=24), "cure_at_c": Decimal(20), "apply_min_c": Decimal(10),
    "apply_max_c": Decimal(30), "wood_moisture_max_pct": Decimal(18), "pot_life": None,
    "heat_deflection_c": Decimal(90), "heat_deflection_method": "ISO 75, 1.80 MPa",
}  # fmt: skip


@pytest.fixture
def seal(transactional_db) -> Lot:
    """A kit of 200 g A and 66 g B for GBP 24.00."""
    product = ProductFactory(name="Larkfield Laminating", kind=Product.Kind.LAMINATING_RESIN)
    SheetRevisionFactory(
        product=product, weight_a=100, weight_b=33,
        **{**USUAL, "pot_life": timedelta(minutes=60), "pot_life_mass_g": 150},
    )  # fmt: skip
    Kit.objects.create(product=product, name="266 g", mass_a_g=200, mass_b_g=66, price_minor=2400)
    return make_kit_lot(
        product, a=200, b=66, price_minor=2400, number="LAM-1", received_on=RECEIVED
    )


@pytest.fixture
def putty(transactional_db) -> Lot:
    """A kit of 400 g A and 200 g B for GBP 36.00."""
    product = ProductFactory(name="Larkfield Putty", kind=Product.Kind.FILLER)
    SheetRevisionFactory(
        product=product, weight_a=2, weight_b=1, layer_min_mm=13, pot_life_mass_g=None,
        working_time_thick=timedelta(minutes=90), working_time_thin=timedelta(hours=3), **USUAL,
    )  # fmt: skip
    return make_kit_lot(
        product, a=400, b=200, price_minor=3600, number="PUT-1", received_on=RECEIVED
    )


@pytest.fixture
def paint(transactional_db) -> Lot:
    """One litre for GBP 18.50."""
    product = ProductFactory(name="Larkfield White", kind=Product.Kind.PAINT, parts=1)
    SheetRevisionFactory(
        product=product, weight_a=None, weight_b=None, pot_life_mass_g=None,
        **{**USUAL, "cure_time": timedelta(hours=16)},
    )  # fmt: skip
    return LotFactory(
        product=product, part=Lot.Part.ONE, unit="ml", number="WHITE-1", price_minor=1850,
        received_on=RECEIVED,
    )  # fmt: skip


@pytest.fixture
def sill(transactional_db):
    member = MemberFactory(mark="N-SILL-03", building__year_built=1995, expected_surface_c=50)
    DefectFactory(member=member, zone="left", found_on=date(2025, 5, 1))
    return member


def weather(hands: Hands, stage: int, moisture: str) -> None:
    page = hands.page
    if not page.locator(f"[name='stage-{stage}-air_c']").is_visible():
        page.locator(f"#stage-{stage}").get_by_text("Temperature and humidity").click()
    for name, value in (("air_c", "20"), ("surface_c", "20"), ("humidity_pct", "50")):
        hands.type(f"stage-{stage}-{name}", value)
    page.locator(f"#stage-{stage}").get_by_text("More about this stage").click()
    hands.type(f"stage-{stage}-moisture_pct", moisture)
    if stage:
        page.locator(f"#id_stage-{stage}-washed_and_abraded").get_by_text("Yes").click()


def enter(page: Page) -> None:
    """The three days of the work, as they would be typed after the last of them."""
    page.goto("/repairs/log/")
    hands = Hands(page)
    hands.type("find", "sill-03")
    page.get_by_role("button", name=re.compile("^N-SILL-03")).click()
    expect(page.get_by_text("Choose another member")).to_be_visible()

    hands.type("stage-0-on", "05052025")
    weather(hands, 0, "13")
    hands.choose("stage-0-batch-0-lot", "LAM-1")
    hands.type("stage-0-batch-0-amount", "0.5 kit")
    hands.type("stage-0-batch-0-mixed", "0800")
    hands.type("stage-0-batch-0-used", "0845")

    hands.open(1)
    hands.type("stage-1-on", "06052025")
    hands.type("stage-1-thickness", "5/8 in")
    weather(hands, 1, "13")
    hands.choose("stage-1-batch-0-lot", "PUT-1")
    hands.type("stage-1-batch-0-amount", "a quarter of a kit")
    hands.type("stage-1-batch-0-mixed", "0815")
    hands.type("stage-1-batch-0-used", "0930")

    hands.open(2)
    hands.type("stage-2-on", "07052025")
    weather(hands, 2, "13")
    hands.choose("stage-2-batch-0-lot", "WHITE-1")
    hands.type("stage-2-batch-0-amount", "100 ml")
    hands.type("stage-2-batch-0-mixed", "0830")

    hands.type("labour-0-hours", "3 1/2")
    hands.type("labour-0-rate", "32.00")
    hands.press("Save this repair")


def test_a_repair_of_the_trade_is_kept_with_the_figures_of_a_hand_calculation(
    chromium, live_server, seal, putty, paint, sill
):
    crew = make_crew(first_name="Robin", last_name="Larch")
    with signed_in(chromium, live_server.url, crew) as page:
        enter(page)
        wait_until_saved(page)
        expect(page.get_by_role("heading", level=1)).to_contain_text("N-SILL-03")
    repair = Repair.objects.get()
    check_times(repair)
    check_mixes(repair)
    check_stores(seal, putty, paint)
    check_costs(repair)
    assert [(one.code, one.found) for one in repair.remarks.all()] == []


def check_times(repair: Repair) -> None:
    """08:00 on the 5th and 24 h give 08:00 on the 6th; the putty of 08:15 is ready at 08:15 on
    the 7th; it is painted at 08:30, 48 hours and a half after the first mix."""
    sealed, filled, painted = repair.stages.all()
    assert (sealed.kind, filled.kind, painted.kind) == ("seal", "fill", "paint")
    assert sealed.ready_at == datetime(2025, 5, 6, 7, 0, tzinfo=UTC)
    assert filled.ready_at == datetime(2025, 5, 7, 7, 15, tzinfo=UTC)
    assert painted.began_at - sealed.began_at == timedelta(hours=48, minutes=30)
    assert filled.thickness_mm == Decimal("15.88")  # 5/8 in is 15.875 mm


def check_mixes(repair: Repair) -> None:
    """Half of 200 g + 66 g is 100 g + 33 g; a quarter of 400 g + 200 g is 100 g + 50 g."""
    batches = [stage.batch_shares.get().batch for stage in repair.stages.all()]
    amounts = [[part.amount for part in batch.parts.order_by("part")] for batch in batches]
    assert amounts == [[100, 33], [100, 50], [100]]
    sealed, filled, _ = batches
    assert sealed.applied_at is not None
    assert sealed.applied_at - sealed.mixed_at == timedelta(minutes=45)  # of 60
    assert filled.applied_at is not None
    assert filled.applied_at - filled.mixed_at == timedelta(minutes=75)  # of 90
    fractions = [part.kit_fraction for batch in batches for part in batch.parts.all()]
    assert fractions == [Decimal("0.5")] * 2 + [Decimal("0.25")] * 2 + [None]


def check_stores(seal: Lot, putty: Lot, paint: Lot) -> None:
    left = [lot.remaining() for kit in (seal, putty) for lot in kit.part_lots.order_by("part")]
    assert left == [100, 33, 300, 150]
    assert paint.remaining() == 900


def check_costs(repair: Repair) -> None:
    """Half of 24.00 is 12.00, a quarter of 36.00 is 9.00, a tenth of 18.50 is 1.85; three hours
    and a half at 32.00 are 112.00: 134.85 in all."""
    material = repair.cost_lines.filter(kind=CostLine.Kind.MATERIAL).order_by("pk")
    assert [line.amount_minor for line in material] == [1200, 900, 185]
    assert [str(line.worked_on) for line in material] == ["2025-05-05", "2025-05-06", "2025-05-07"]
    labour = repair.cost_lines.get(kind=CostLine.Kind.LABOUR)
    assert labour.amount_minor == 11200
    assert sum(line.home_minor for line in repair.cost_lines.all()) == 13485

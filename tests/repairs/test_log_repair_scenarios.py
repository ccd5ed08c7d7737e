"""The trade's acceptance scenarios, as far as the act of logging carries them."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.db.models import Sum

from config.quantities import Quantity, parse
from materials.amounts import parse_amount
from properties.models import Defect
from repairs.logbook.entry import EarlierBatchEntry
from repairs.logbook.log import judge, log_repair
from repairs.models import Batch, CostLine, Repair
from tests.factories import (
    MORNING,
    DefectFactory,
    ElevationFactory,
    MemberFactory,
    PropertyFactory,
    RepairFactory,
    make_crew,
    make_kit_lot,
)
from tests.repairs.made_entries import (
    DAY,
    HOUR,
    NOW,
    batch,
    codes,
    entry,
    log,
    make_lots,
    make_sheet,
    one_seal,
    painting,
    part,
    stage,
    tower,
    utc,
)

pytestmark = pytest.mark.django_db
LONDON = ZoneInfo("Europe/London")


def remark(made, code, at=NOW):
    return next(placed.remark for placed in judge(made, at) if placed.remark.code == code)


def money(field="amount_minor", **where):
    return CostLine.objects.filter(**where).aggregate(total=Sum(field))["total"] or 0


def poured(member, *amounts, at=MORNING, sheet=None, lots=None, **kwargs):
    """A repair of one sealing stage with one batch of A and B."""
    sheet = sheet or make_sheet()
    lots = lots or make_lots(sheet)
    parts = [part(lot, amount) for lot, amount in zip(lots, amounts, strict=True)]
    mixed = batch(sheet, *parts, at=at, **kwargs)
    return entry(member, stage("seal", mixed, at=at, moisture_pct=Decimal(12)))


def test_scenario_1_a_plain_sill():
    sealer, putty = make_sheet("sealer"), make_sheet("filler", layer_min_mm=3, layer_max_mm=25)
    paint = make_sheet("paint", weight_a=None, weight_b=None)
    seal, fill, tin = make_lots(sealer), make_lots(putty), make_lots(paint)[0]
    tin.part = "one"
    tin.save()
    paint.product.parts = 1
    paint.product.save()
    day = [MORNING + number * DAY for number in range(7)]

    def lift(at):
        mixed = batch(putty, part(fill[0], 100), part(fill[1], 33), at=at)
        return stage("fill", mixed, at=at, thickness_mm=Decimal(15), washed_and_abraded=True)

    def coat(kind, at):
        return stage(kind, batch(paint, part(tin, 80), at=at), at=at, washed_and_abraded=True)

    made = entry(
        MemberFactory(),
        stage(
            "seal", batch(sealer, part(seal[0], 100), part(seal[1], 33)), moisture_pct=Decimal(13)
        ),
        lift(day[1] + HOUR),
        lift(day[2] + 2 * HOUR),
        stage("shape", at=day[4]),
        coat("prime", day[4] + HOUR),
        coat("paint", day[5] + 2 * HOUR),
        coat("paint", day[6] + 3 * HOUR),
        ended_at=day[6] + 4 * HOUR,
        labour=(painting("6"),),
    )
    repair = log(made, day[6] + 5 * HOUR)
    assert [s.kind for s in repair.stages.all()] == [
        "seal",
        "fill",
        "fill",
        "shape",
        "prime",
        "paint",
        "paint",
    ]
    assert repair.defects.get().state == Defect.State.MADE_GOOD
    assert repair.due_dates.get(kind="repair_look").due_on == date(2026, 6, 10)
    assert money(repair=repair) == 6 * 3200


def test_scenario_2_a_and_b_changed_places():
    sheet = make_sheet(weight_a=None, weight_b=None, volume_a=2, volume_b=1)
    lots = make_lots(sheet, unit="ml")
    made = poured(MemberFactory(), 50, 100, sheet=sheet, lots=lots, basis="volume")
    assert "swapped" in codes(made)
    repair = log(made)
    kept = repair.remarks.get(code="swapped")
    assert (kept.level, kept.holds) == ("warning", True)
    assert kept.batch == repair.stages.get().batches_mixed.get()


def test_scenario_3_grams_beside_ounces():
    ounces = parse_amount("6 oz", "us").parts[0].value
    sheet = make_sheet(weight_b=43)
    assert round(ounces, 1) == Decimal("170.1")
    good = poured(MemberFactory(), ounces, 73, sheet=sheet)
    assert not {"ratio-off", "overdrawn"} & codes(good)
    pounds = parse_amount("73 oz", "us").parts[0].value
    assert {"ratio-off", "overdrawn"} <= codes(poured(MemberFactory(), 170, pounds, sheet=sheet))


def test_scenario_4_two_lots_of_a_in_one_batch():
    sheet = make_sheet()
    (a11, b), (a12, _) = make_lots(sheet), make_lots(sheet)
    mixed = batch(sheet, part(a11, 40), part(a12, 60), part(b, 33))
    repair = log(entry(MemberFactory(), stage("seal", mixed, moisture_pct=Decimal(12))))
    kept = repair.stages.get().batches_mixed.get()
    assert kept.parts.count() == 3
    assert [lot.remaining() for lot in (a11, a12, b)] == [960, 940, 967]
    for lot in (a11, a12, b):
        assert list(Batch.objects.filter(parts__lot=lot)) == [kept]


@pytest.mark.parametrize(("day", "past"), [(31, None), (12, "12 days")])
def test_scenario_5_an_expired_lot(day, past):
    sheet = make_sheet()
    lots = make_lots(sheet, expires_on=date(2026, 3, 31))
    at = MORNING.replace(month=3 if day == 31 else 4, day=day)
    made = poured(MemberFactory(), 100, 33, at=at, sheet=sheet, lots=lots)
    if past is None:
        assert "expired" not in codes(made)
        return
    assert past in remark(made, "expired").found
    assert log(made).remarks.filter(code="expired", level="warning").count() == 2


def test_scenario_6_the_recoat_window_was_missed():
    sheet = make_sheet("filler", recoat_to=24 * HOUR)
    lots = make_lots(sheet)

    def lift(at, **kwargs):
        return stage(
            "fill",
            batch(sheet, part(lots[0], 100), part(lots[1], 33), at=at),
            at=at,
            thickness_mm=Decimal(15),
            **kwargs,
        )

    member = MemberFactory()
    late = entry(member, lift(MORNING), lift(MORNING + 40 * HOUR))
    assert "recoat-missed" in codes(late)
    washed = lift(MORNING + 40 * HOUR, washed_and_abraded=True)
    assert "recoat-missed" not in codes(replace(late, stages=(late.stages[0], washed)))
    assert log(late).remarks.get(code="recoat-missed").holds


def test_scenario_7_the_third_repair_on_one_spot():
    member = MemberFactory()
    for year, zone in ((2018, "left"), (2021, "right"), (2023, "left")):
        RepairFactory(member=member, zone=zone, began_at=MORNING.replace(year=year))
    assert "third-repair" in codes(one_seal(member, zone="left"))
    assert "third-repair" not in codes(one_seal(member, zone="right"))
    log(one_seal(member, zone="left"))
    assert member.repairs.count() == 4


def test_scenario_9_failed_and_done_again_under_warranty():
    first = log(one_seal())
    later = MORNING + timedelta(days=270)
    again = one_seal(
        first.member,
        relation="redo",
        follows=first,
        borne_by="contractor",
        began_at=later,
        costs=(tower(),),
        defects=(DefectFactory(member=first.member, kind="failed_repair"),),
    )
    again = replace(again, stages=())
    redo = log(again, later + DAY)
    first.refresh_from_db()
    assert (first.state, first.failed_on) == (Repair.State.FAILED, later.date())
    assert money(repair=redo, borne_by="owner") == 0
    assert money(repair=redo, borne_by="contractor") == 8000
    # A second redo of the same repair does not move the day on which it failed.
    log(
        replace(
            one_seal(first.member), relation="redo", follows=first, began_at=later + DAY, stages=()
        ),
        later + 2 * DAY,
    )
    first.refresh_from_db()
    assert first.failed_on == later.date()


def split_kit():
    """A kit of 60.00: 7/8 mixed, of which 1/4 kit goes to one building, 1/8 to waste and 1/2
    is left over for a second building."""
    sheet = make_sheet()
    kit = make_kit_lot(sheet.product, a=800, b=264, price_minor=6000)
    a, b = kit.part_lots.order_by("part")
    eighth = Decimal(133)
    mixed = batch(
        sheet,
        part(a, 700, "0.875"),
        part(b, 231, "0.875"),
        basis="kit",
        typed="7/8 kit",
        waste=eighth,
        left_over=4 * eighth,
    )
    first = log(entry(MemberFactory(), stage("seal", mixed, moisture_pct=Decimal(12))))
    return kit, first, EarlierBatchEntry(first.stages.get().batches_mixed.get(), 4 * eighth)


def test_scenario_10_a_kit_over_two_buildings():
    kit, first, taken = split_kit()
    assert money(repair=first) == 5250
    second = log(
        entry(
            MemberFactory(),
            stage("fill", at=MORNING + HOUR, earlier_batches=(taken,)),
        )
    )
    # 15.00 and a third of the waste, 30.00 and two thirds of it.
    assert money(repair=first) == 1500 + 250
    assert money(repair=second) == 3000 + 500
    in_stock = sum(lot.cost_of(lot.remaining()) for lot in kit.part_lots.all())
    assert in_stock == 750
    assert money() + in_stock == 6000
    assert first.cost_lines.filter(reverses__isnull=False).get().amount_minor == -5250


def test_scenario_10_only_what_is_left_can_be_taken():
    _, _, taken = split_kit()
    greedy = replace(taken, amount=taken.amount + 1)
    made = entry(MemberFactory(), stage("fill", at=MORNING + HOUR, earlier_batches=(greedy,)))
    assert "532 of it was left over" in judge(made, NOW)[0].remark.limit


def test_scenario_12_a_credit_is_a_line_below_zero():
    repair = log(one_seal(costs=(tower(120000), tower(-30000, kind="credit"))))
    assert money(repair=repair, kind__in=["access", "credit"]) == 90000


def test_scenario_13_each_line_keeps_its_currency_and_rate():
    member = MemberFactory(building__property=PropertyFactory(currency="EUR"))
    sheet = make_sheet()
    lots = make_lots(sheet, price_minor=10000, currency="USD")
    made = poured(member, 100, 33, sheet=sheet, lots=lots)
    made = replace(made, labour=(painting("1", 4000),), costs=(tower(5000, "GBP"),))
    assert {"rate-gbp", "rate-usd"} == codes(made)
    repair = log(replace(made, rates={"USD": Decimal("0.92"), "GBP": Decimal("1.15")}))
    lines = {line.currency: line for line in repair.cost_lines.all()}
    assert (lines["USD"].amount_minor, lines["USD"].home_minor) == (1330, 1224)
    assert (lines["GBP"].amount_minor, lines["GBP"].home_minor) == (5000, 5750)
    assert (lines["EUR"].amount_minor, lines["EUR"].home_minor) == (4000, 4000)
    assert lines["USD"].rate == Decimal("0.92")


@pytest.mark.parametrize(
    ("mixed_at", "ready"),
    [
        (utc(2026, 3, 28, 22, 30), "2026-03-29 11:30 BST"),
        (utc(2026, 10, 24, 19, 0), "2026-10-25 07:00 GMT"),
    ],
)
def test_scenario_14_the_clocks_change_in_the_night_of_a_cure(mixed_at, ready):
    sheet = make_sheet("filler", cure_time=12 * HOUR)
    lots = make_lots(sheet)
    mixed = batch(
        sheet,
        part(lots[0], 100),
        part(lots[1], 33),
        at=mixed_at,
        air_c=Decimal(20),
        surface_c=Decimal(20),
    )
    made = entry(MemberFactory(), stage("fill", mixed, at=mixed_at, thickness_mm=Decimal(15)))
    repair = log(made, utc(2026, 11, 1))
    kept = repair.stages.get()
    kept.refresh_from_db()
    assert f"{kept.ready_at.astimezone(LONDON):%Y-%m-%d %H:%M %Z}" == ready


@pytest.mark.parametrize(("surface", "flagged"), [(11, True), (14, False)])
def test_scenario_15_close_to_the_dew_point(surface, flagged):
    made = poured(
        MemberFactory(),
        100,
        33,
        air_c=Decimal(12),
        humidity_pct=Decimal(88),
        surface_c=Decimal(surface),
    )
    assert ("near-dew-point" in codes(made)) == flagged


def test_scenario_16_one_lift_too_thick():
    sheet = make_sheet("filler", layer_max_mm=Decimal("25.4"))
    lots = make_lots(sheet)
    made = poured(MemberFactory(), 100, 33, sheet=sheet, lots=lots)
    thick = replace(made.stages[0], kind="fill", thickness_mm=parse("2 in", Quantity.LENGTH, "us"))
    found = remark(replace(made, stages=(thick,)), "layer-thick")
    assert found.level == "warning"
    one = replace(thick, thickness_mm=parse("1 in", Quantity.LENGTH, "us"))
    assert "layer-thick" not in codes(replace(made, stages=(one,)))


def test_scenario_17_the_cause_is_left_open():
    member = MemberFactory()
    known = DefectFactory(member=member, cause="gutter", cause_state="not_yet")
    lasting = one_seal(member, defects=(known,))
    assert "cause-open" in codes(lasting)
    temporary = replace(lasting, temporary=True)
    assert "cause-open" not in codes(temporary)
    repair = log(temporary)
    assert repair.due_dates.get(kind="repair_look").due_on == date(2026, 8, 4)
    assert repair.defects.get().state == Defect.State.IN_WORK
    assert money(repair=repair, cause="gutter") == money(repair=repair) > 0


def test_scenario_18_two_phones_take_the_last_of_a_lot():
    sheet = make_sheet()
    lots = make_lots(sheet, received=200)
    made = [poured(MemberFactory(), 150, "49.5", sheet=sheet, lots=lots) for _ in range(2)]
    crew = make_crew()
    log(made[0], by=crew)
    assert "overdrawn" in codes(made[1])
    second = log(made[1], by=crew)
    assert log_repair(made[1], crew, NOW) == second
    assert lots[0].remaining() == -100
    assert lots[0].count_needed()
    assert Batch.objects.count() == 2


def test_a_dark_face_in_the_sun_asks_for_a_heat_resistant_resin():
    member = MemberFactory(finish_tone="dark", elevation=None)
    member.elevation = ElevationFactory(building=member.building, bearing_deg=180)
    sheet = make_sheet("filler", heat_deflection_c=Decimal(50))
    assert "heat-too-low" in codes(poured(member, 100, 33, sheet=sheet))
    member.expected_surface_c = Decimal(35)
    assert "heat-too-low" not in codes(poured(member, 100, 33, sheet=sheet))

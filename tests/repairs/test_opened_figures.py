"""Every computed figure of the pages of members, repairs and lots opens to its inputs, its
formula in words and symbols, and its source."""

import html
import re
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from config.quantities import UnitSystem
from materials.mixing import NEVER_CHANGE_THE_RATIO
from properties.models import MoistureReading
from repairs.models import DueRule, Repair
from tests.factories import (
    BatchFactory,
    BatchPartFactory,
    BatchShareFactory,
    CostLineFactory,
    DefectFactory,
    DueDateFactory,
    DueRuleFactory,
    InspectionFactory,
    LotFactory,
    MemberFactory,
    MemberIntervalFactory,
    MoistureReadingFactory,
    MonthlyNormalFactory,
    ProductFactory,
    RepairFactory,
    SheetRevisionFactory,
    StageFactory,
    make_kit_lot,
    make_manager,
)
from tests.repairs.made_entries import log, one_seal

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def manager(client: Client) -> None:
    client.force_login(make_manager())


def figures(client: Client, of: Any) -> dict[str, str]:
    """What each figure of a page tells when it is opened, by the value that it shows closed."""
    page = html.unescape(client.get(of.get_absolute_url()).content.decode())
    opened = re.findall(r'<details class="figure">(.*?)</details>', page, re.DOTALL)
    told = {}
    for each in opened:
        value, rest = re.split(r"</summary>", each, maxsplit=1)
        told[_words(value)] = _words(rest)
    return told


def _words(markup: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", markup).split())


def cold_oak(**facts: Any) -> MoistureReading:
    made = {"raw_pct": Decimal(15), "wood_c": Decimal(10), "meter": "pin", "treated": "no"}
    return MoistureReadingFactory(member__species="oak", **{**made, **facts})


# Moisture


def test_a_moisture_reading_opens_on_the_page_of_its_member(client: Client) -> None:
    told = figures(client, cold_oak().member)["16.3 %"]
    for words in (
        "As read 15 %",
        "Temperature of the wood 10 °C",
        "Species of the member oak",
        "u = reading + 0.125 · (20 − T)",
        "VTT Publications 420",
        "Holds for meters with pins in untreated wood",
    ):
        assert words in told


def test_it_opens_on_the_page_of_its_defect(client: Client) -> None:
    defect = DefectFactory()
    cold_oak(member=defect.member, defect=defect)
    assert "u = reading + 0.125 · (20 − T)" in figures(client, defect)["16.3 %"]


def test_a_reading_that_cannot_be_corrected_opens_to_why(client: Client) -> None:
    told = figures(client, cold_oak(wood_c=None).member)["15 % as read"]
    assert "the temperature of the wood is not recorded" in told


def test_one_corrected_for_species_names_both_curves(client: Client) -> None:
    reading = cold_oak()
    reading.keep_correction(set_for="beech")
    reading.save()
    told = figures(client, reading.member)["15.1 %"]
    assert "From beech, as the meter was set, to oak" in told
    assert "log₁₀(log₁₀ R + 1) = a·u + b" in told


def test_an_oven_dry_sample_is_taken_as_it_is(client: Client) -> None:
    told = figures(client, cold_oak(meter="oven").member)["15 %"]
    assert "Source: Oven-dry sample: no correction" in told


def test_figures_open_in_the_units_of_the_reader(client: Client) -> None:
    reading = cold_oak(member__building__property__unit_system=UnitSystem.US)
    told = figures(client, reading.member)["16.3 %"]
    assert "Temperature of the wood 50 °F" in told


# Dates


def test_a_due_date_opens_to_the_rule_that_set_it(client: Client) -> None:
    rule = DueRuleFactory(words="Every 4 months", then_months=4, source="this test")
    due = DueDateFactory(rule=rule, due_on=date(2026, 6, 4), set_because="Every 4 months")
    told = figures(client, due.member)["4 June 2026"]
    assert "Why this day Every 4 months" in told
    assert "Counted from 4 May 2026" in told
    assert "day = counted from + months" in told


def test_a_day_that_a_person_set_says_so(client: Client) -> None:
    because = "Set by Ash Rowan: scaffold stands then"
    due = DueDateFactory(rule=None, set_by="person", set_because=because)
    told = figures(client, due.member)["4 June 2026"]
    assert "Set by Ash Rowan: scaffold stands then" in told
    assert "A person set this day." in told


def test_a_member_without_results_says_how_often_to_look_to_begin_with(client: Client) -> None:
    member = MemberFactory(use_class="3.2")
    for month in range(1, 13):
        MonthlyNormalFactory(
            property=member.building.property, month=month, mean_c=15, rain_days=15
        )
    told = figures(client, member)["a look every 6 months"]
    assert "Fits Use class 3.2, high decay hazard" in told
    assert "When In spring or autumn" in told
    assert "common practice, no source" in told


def test_a_place_without_months_has_the_rule_for_every_member(client: Client) -> None:
    told = figures(client, MemberFactory(use_class="3.2"))["a look every year"]
    assert "The rule Member: a look every spring Fits Every one" in told


def test_an_interval_of_its_own_comes_before_the_rules(client: Client) -> None:
    own = MemberIntervalFactory(kind="member_look", months=4, reason="Driving rain")
    told = figures(client, own.member)["a look every 4 months"]
    assert "Every 4 months, set for this member: Driving rain" in told


def test_once_somebody_has_looked_its_own_results_count(client: Client) -> None:
    member = InspectionFactory(member__use_class="3.2").member
    assert not any("a look every" in value for value in figures(client, member))


def test_where_a_date_is_set_no_other_pace_stands_beside_it(client: Client) -> None:
    member = DueDateFactory(member__use_class="3.2").member
    assert not any("a look every" in value for value in figures(client, member))


@pytest.mark.parametrize(
    ("set_by", "told"),
    [("rule", "What a look found asked for another soon"), ("ratings", "DerSimonian and Laird")],
)
def test_a_day_by_what_looks_found_opens_to_how(client: Client, set_by: str, told: str) -> None:
    due = DueDateFactory(rule=None, kind="repaint", set_by=set_by, set_because="Found in May")
    assert told in figures(client, due.member)["4 June 2026"]


def test_a_new_member_asks_no_more_than_an_old_one(
    client: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    here = MonthlyNormalFactory().property
    sill = MemberFactory(building__property=here, use_class="3.2")
    with django_assert_max_num_queries(14):
        figures(client, sill)
    for kind in ("repair_look", "coating_look", "repaint", "member_look") * 2:
        rule = DueRule.objects.filter(kind=kind).first()
        repair = RepairFactory(member=sill) if kind == "repair_look" else None
        DueDateFactory(member=sill, kind=kind, rule=rule, repair=repair)
    with django_assert_max_num_queries(16):
        figures(client, sill)


def test_nobody_is_told_to_look_at_what_was_taken_out(client: Client) -> None:
    member = MemberFactory(removed_on=date(2026, 4, 1), removed_reason="rotten")
    assert not any("a look every" in value for value in figures(client, member))


# Repairs


def damp_stage(**facts: Any) -> Repair:
    return StageFactory(**facts).repair


def test_the_dew_point_of_a_stage_opens(client: Client) -> None:
    repair = damp_stage(air_c=12, humidity_pct=88, surface_c=11)
    told = figures(client, repair)["10.1 °C; the surface 0.9 K above it, where 3 K are wanted"]
    assert "Air 12 °C Relative humidity 88 % Surface 11 °C" in told
    assert "Td = 243.04·g/(17.625 − g)" in told
    assert "Alduchov & Eskridge 1996" in told
    assert "at least 3 K (5.4 °F) above the dew point" in told


def test_a_dew_margin_in_fahrenheit_is_a_difference(client: Client) -> None:
    repair = damp_stage(air_c=12, humidity_pct=88, surface_c=14,
                        repair__member__building__property__unit_system=UnitSystem.US)  # fmt: skip
    assert "50.1 °F; the surface 7 °F above it" in figures(client, repair)


def test_without_a_surface_there_is_a_dew_point_and_no_margin(client: Client) -> None:
    repair = damp_stage(air_c=12, humidity_pct=88)
    assert "Surface not recorded" in figures(client, repair)["10.1 °C"]


def test_air_out_of_range_gives_a_remark_and_no_number(client: Client) -> None:
    repair = damp_stage(air_c=12, humidity_pct=0, surface_c=11)
    found = figures(client, repair)
    assert "No figure: it holds for relative humidity above 0 and up to 100 %" in found


def test_a_batch_opens_to_its_ratio_and_its_cure(client: Client) -> None:
    found = figures(client, log(one_seal()))
    ratio = found["100 : 33 by weight, as the sheet asks"]
    assert "Part A (resin) 100 g Part B (hardener) 33 g" in ratio
    assert "off by (B/A) ÷ (B/A by the sheet) − 1" in ratio
    cure = next(told for value, told in found.items() if value.startswith("Cured since"))
    assert "24 h At 20 °C" in cure
    assert "Temperature there was 17 °C" in cure
    assert "k / k_ref = exp(−E/R × (1/T − 1/T_ref))" in cure


def test_the_ratio_reminds_never_to_change_it(client: Client) -> None:
    told = figures(client, log(one_seal()))["100 : 33 by weight, as the sheet asks"]
    assert NEVER_CHANGE_THE_RATIO.split(":")[0] in told


def test_what_a_part_cost_opens_to_price_and_amount(client: Client) -> None:
    told = figures(client, log(one_seal()))["GBP 6.00"]
    assert "Amount 100 g" in told
    assert "cost = price · amount ÷ all received for that price" in told


def test_a_part_of_a_kit_names_the_price_of_the_kit(client: Client) -> None:
    stage = StageFactory()
    kit = make_kit_lot(ProductFactory(), number="K7", price_minor=9000)
    batch = BatchFactory(sheet=SheetRevisionFactory(product=kit.product), mixed_for=stage)
    for lot in kit.part_lots.all():
        BatchPartFactory(
            batch=batch, lot=lot, part=lot.part, amount=100, cost_minor=1234,
            kit_fraction=Decimal("0.25"),
        )  # fmt: skip
    BatchShareFactory(batch=batch, stage=stage, amount=200)
    told = figures(client, stage.repair)["GBP 12.34"]
    assert "Paid for kit K7 GBP 90.00" in told
    assert "Kits taken 0.25" in told


# Money


def test_money_of_another_currency_opens_to_its_rate(client: Client) -> None:
    line = CostLineFactory(
        amount_minor=10_000, currency="EUR", rate=Decimal("0.85"), home_minor=8_500
    )
    told = figures(client, line)["GBP 85.00"]
    assert "Amount EUR 100.00 1 EUR in GBP 0.85" in told
    assert "amount · rate" in told


# Lots


def test_the_last_usable_day_of_a_lot_opens_to_what_sets_it(client: Client) -> None:
    sheet = SheetRevisionFactory(shelf_life_opened_months=6, shelf_life_unopened_months=None)
    lot = LotFactory(
        product=sheet.product, expires_on=date(2027, 3, 31), opened_on=date(2026, 5, 1)
    )
    told = figures(client, lot)["1 November 2026"]
    assert "Set by its life once opened" in told
    assert "Printed expiry 31 March 2027" in told
    assert "once opened 6 months" in told
    assert "min(printed, or made or else received + months unopened" in told
    assert "that the day itself counts: common practice, no source" in told


def test_what_is_left_of_a_lot_opens_to_its_ledger(client: Client) -> None:
    found = figures(client, LotFactory())
    assert any("the lot's own ledger" in told for told in found.values())

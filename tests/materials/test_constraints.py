"""What the database itself refuses of products, sheets, packs, lots and their ledger."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction

from materials.append_only import guard_ledgers
from materials.models import Movement
from tests import factories
from tests.constraints import BadRow, constraints_of, names, refusal

pytestmark = pytest.mark.django_db
SHEET, KIT, LOT = factories.SheetRevisionFactory, factories.KitFactory, factories.LotFactory
TENTH = date(2026, 1, 10)  # the day on which LotFactory's lots are received
OTHER = {"number": "another"}


def part_lot() -> factories.Lot:
    return factories.make_kit_lot(factories.ProductFactory()).part_lots.get(part="a")


def order(low: str, high: str, more: object, less: object) -> BadRow:
    return BadRow(SHEET, {"revision": "2", low: more, high: less})


ROWS = {
    "product_once_per_maker": BadRow(factories.ProductFactory),
    "product_one_or_two_parts": BadRow(factories.ProductFactory, {"parts": 3}),
    "sheet_revision_once": BadRow(SHEET),
    "sheet_weight_ratio_both": BadRow(SHEET, {"weight_b": None}),
    "sheet_volume_ratio_both": BadRow(SHEET, {"volume_a": Decimal(2)}),
    "sheet_tolerance_percent": BadRow(SHEET, {"ratio_tolerance_pct": Decimal(101)}),
    "sheet_moisture_percent": BadRow(SHEET, {"wood_moisture_max_pct": Decimal(-1)}),
    "sheet_layer_order": order("layer_min_mm", "layer_max_mm", Decimal(13), Decimal(12)),
    "sheet_temperature_order": order("apply_min_c", "apply_max_c", Decimal(10), Decimal(5)),
    "sheet_pot_life_order": order(
        "pot_life_large", "pot_life", timedelta(hours=2), timedelta(hours=1)
    ),
    "sheet_pot_life_mass_order": order(
        "pot_life_mass_g", "pot_life_large_mass_g", Decimal(500), Decimal(100)
    ),
    "sheet_pot_life_large_mass_g_positive": BadRow(
        SHEET, {"pot_life_mass_g": None, "pot_life_large_mass_g": Decimal(0)}
    ),
    "sheet_recoat_order": order(
        "recoat_from", "recoat_to", timedelta(hours=2), timedelta(hours=1)
    ),
    "sheet_working_time_order": order(
        "working_time_thick", "working_time_thin", timedelta(hours=3), timedelta(hours=1)
    ),
    **{
        f"sheet_{name}_positive": BadRow(SHEET, {name: Decimal(0)})
        for name in (
            "density_a_g_ml", "density_b_g_ml", "pot_life_mass_g", "batch_mass_max_g",
            "layer_min_mm", "layer_max_mm", "coverage_m2_per_l", "coverage_end_grain_m2_per_l",
            "density_mixed_g_ml", "activation_energy_kj_mol",
            "heat_of_reaction_j_g",
        )
    },
    **{
        f"sheet_{name}_not_negative": BadRow(SHEET, {name: timedelta(minutes=-1)})
        for name in (
            "pot_life", "pot_life_large", "working_time_thick", "working_time_thin",
            "cure_time", "recoat_from", "recoat_to",
        )
    },
    "kit_once_per_product": BadRow(KIT),
    "kit_holds_something": BadRow(KIT, {"mass_a_g": None}),
    "kit_price_not_negative": BadRow(KIT, {"price_minor": -1}),
    "kit_currency_code": BadRow(KIT, {"currency": "£"}),
    **{
        f"kit_{name}_positive": BadRow(KIT, {name: Decimal(0)})
        for name in ("mass_a_g", "mass_b_g", "volume_a_ml", "volume_b_ml")
    },
    "lot_number_once": BadRow(LOT),
    "lot_opened_after_received": BadRow(LOT, {"opened_on": TENTH - timedelta(days=1)}),
    "lot_made_before_received": BadRow(LOT, {"made_on": TENTH + timedelta(days=1)}),
    "lot_price_not_negative": BadRow(LOT, {"price_minor": -1}),
    "lot_kit_has_no_parent": BadRow(LOT, {"part": "kit"}),
    "lot_only_parts_in_kit": BadRow(part_lot, {"part": "one"}),
    "lot_one_a_one_b_per_kit": BadRow(part_lot, OTHER),
    "lot_held_back_with_reason": BadRow(LOT, {"held_back": True}),
    "lot_currency_code": BadRow(LOT, {"currency": "EU"}),
    "movement_sign_fits_kind": BadRow(factories.MovementFactory, {"amount": Decimal(1)}),
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(ROWS))
def test_the_database_refuses_a_row_that_cannot_be(name: str) -> None:
    row = ROWS[name].copy()
    said = refusal(row)
    assert names(constraints_of("materials")[name], row, said), said


def test_every_constraint_is_tried() -> None:
    assert set(constraints_of("materials")) == set(ROWS)


def change(line: Movement) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE materials_movement SET amount = -1 WHERE id = %s", [line.pk])


def test_the_database_refuses_to_change_a_line_of_the_ledger() -> None:
    line = factories.MovementFactory()
    with pytest.raises(IntegrityError, match="materials_movement is append-only"):
        change(line)
    assert Movement.objects.get(pk=line.pk).amount == line.amount


def test_a_guard_lost_with_its_table_is_set_again_by_the_next_migrate() -> None:
    line = factories.MovementFactory()
    of_table = "" if connection.vendor == "sqlite" else " ON materials_movement"
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER materials_movement_append_only{of_table}")
    change(line)
    guard_ledgers(apps.get_app_config("materials"), connection.alias)
    with pytest.raises(IntegrityError, match="append-only"):
        change(line)

"""Products, sheets and packs: what the database itself refuses, and which sheet is in force."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from materials.models import Product
from tests import factories

pytestmark = pytest.mark.django_db


def refused(make) -> bool:
    try:
        with transaction.atomic():
            make()
    except IntegrityError:
        return True
    return False


@pytest.mark.parametrize(
    "wrong",
    [
        {"weight_a": Decimal(100), "weight_b": None},
        {"weight_a": None, "weight_b": Decimal(33)},
        {"weight_a": Decimal(0), "weight_b": Decimal(33)},
        {"volume_a": Decimal(2), "volume_b": None},
        {"ratio_tolerance_pct": Decimal(101)},
        {"ratio_tolerance_pct": Decimal(-1)},
        {"wood_moisture_max_pct": Decimal(101)},
        {"layer_min_mm": Decimal(13), "layer_max_mm": Decimal(12)},
        {"layer_min_mm": Decimal(0)},
        {"apply_min_c": Decimal(10), "apply_max_c": Decimal(5)},
        {"recoat_from": timedelta(hours=2), "recoat_to": timedelta(hours=1)},
        {"working_time_thick": timedelta(hours=3), "working_time_thin": timedelta(hours=1)},
        {"pot_life": timedelta(minutes=-1)},
        {"cure_time": timedelta(minutes=-1)},
        {"density_a_g_ml": Decimal(0)},
        {"batch_mass_max_g": Decimal(-5)},
        {"coverage_m2_per_l": Decimal(0)},
    ],
)
def test_the_database_refuses_a_sheet_that_cannot_be(wrong):
    product = factories.ProductFactory()
    assert refused(lambda: factories.SheetRevisionFactory(product=product, **wrong))


@pytest.mark.parametrize(
    "wrong",
    [{"mass_a_g": None, "mass_b_g": None}, {"mass_a_g": Decimal(0)}, {"price_minor": -1},
     {"currency": "£"}, {"volume_b_ml": Decimal(-1)}],
)  # fmt: skip
def test_the_database_refuses_a_pack_that_cannot_be(wrong):
    product = factories.ProductFactory()
    assert refused(lambda: factories.KitFactory(product=product, **wrong))


def test_names_stand_once():
    sheet = factories.SheetRevisionFactory()
    kit = factories.KitFactory(product=sheet.product)
    assert refused(lambda: factories.ProductFactory(name=sheet.product.name))
    assert refused(
        lambda: factories.SheetRevisionFactory(product=sheet.product, revision=sheet.revision)
    )
    assert refused(lambda: factories.KitFactory(product=sheet.product, name=kit.name))


def test_the_sheet_in_force_is_the_last_issued_by_that_day():
    product = factories.ProductFactory()
    first, second = (
        factories.SheetRevisionFactory(product=product, issued_on=day)
        for day in (date(2020, 1, 1), date(2024, 6, 1))
    )
    assert product.sheet_on(date(2019, 1, 1)) == first
    assert product.sheet_on(date(2024, 5, 31)) == first
    assert product.sheet_on(date(2024, 6, 1)) == second
    assert factories.ProductFactory().sheet_on(date(2024, 6, 1)) is None


def test_of_two_sheets_of_one_day_the_later_entered_is_in_force():
    product = factories.ProductFactory()
    factories.SheetRevisionFactory(product=product)
    slip_put_right = factories.SheetRevisionFactory(product=product)
    assert product.sheet_on(date(2026, 1, 1)) == slip_put_right


def test_a_volume_ratio_becomes_one_by_weight_where_the_densities_are_known():
    sheet = factories.SheetRevisionFactory(
        weight_a=None, weight_b=None, volume_a=Decimal(2), volume_b=Decimal(1),
        density_a_g_ml=Decimal("1.15"), density_b_g_ml=Decimal("0.98"),
    )  # fmt: skip
    ratio = sheet.weight_ratio()
    assert ratio is not None
    assert round(ratio.b, 1) == Decimal("42.6")
    sheet.density_b_g_ml = None
    assert sheet.weight_ratio() is None


def test_only_a_figure_of_a_sheet_can_be_said_not_to_apply():
    sheet = factories.SheetRevisionFactory(not_applicable=["colour_of_the_lid"])
    with pytest.raises(ValidationError, match="No such figure: colour_of_the_lid"):
        sheet.clean()


def test_products_still_bought_and_withdrawn_share_out_all():
    on = date(2026, 5, 4)
    for day in (None, on - timedelta(days=1), on, on + timedelta(days=1)):
        factories.ProductFactory(withdrawn_on=day)
    bought, withdrawn = Product.objects.still_bought(on), Product.objects.withdrawn(on)
    assert (bought.count(), withdrawn.count()) == (2, 2)
    assert not set(bought) & set(withdrawn)

"""Products, sheets and packs: which sheet is in force on a day, and what it says."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from materials.models import Product
from tests import factories

pytestmark = pytest.mark.django_db


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

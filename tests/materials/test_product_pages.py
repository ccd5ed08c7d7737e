"""Products, their packs, and sheets that are never overwritten."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from materials.models import Kit, Lot, Product, SheetRevision
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    user = factories.make_manager()
    factories.PersonFactory(user=user)
    client.force_login(user)
    return client


@pytest.fixture
def us_manager(manager):
    user = factories.UserFactory._meta.model.objects.get()
    user.person.unit_system = "us"
    user.person.save()
    return manager


@pytest.fixture
def product():
    return factories.ProductFactory(name="Oak Putty")


def sheet_data(**changes) -> dict[str, object]:
    return {
        "revision": "Issue 4", "issued_on": "2026-01-01", "volume_a": "2", "volume_b": "1",
        "pot_life": "60 min", "pot_life_mass_g": "150 g", "pot_life_at_c": "20 °C",
        "working_time_thick": "90 min", "working_time_thin": "3 h", "cure_time": "24 h",
        "layer_min_mm": "13 mm", "heat_deflection_c": "65", "safety_sheet_url": "example.com/sds",
        "hazards": "May cause an allergic skin reaction.",
    } | changes  # fmt: skip


def enter_sheet(client, product, **changes):
    return client.post(f"/products/{product.pk}/sheets/new/", sheet_data(**changes))


def test_a_sheet_is_typed_as_people_say_it(manager, product):
    assert enter_sheet(manager, product).status_code == 302
    sheet = SheetRevision.objects.get()
    assert (sheet.pot_life, sheet.working_time_thick, sheet.working_time_thin) == (
        timedelta(hours=1), timedelta(minutes=90), timedelta(hours=3),
    )  # fmt: skip
    assert (sheet.layer_min_mm, sheet.heat_deflection_c, sheet.pot_life_mass_g) == (13, 65, 150)
    assert sheet.safety_sheet_url == "https://example.com/sds"
    assert str(sheet.volume_ratio()) == "2 : 1 by volume"


def test_a_sheet_is_typed_in_the_units_of_the_person(us_manager, product):
    enter_sheet(us_manager, product, layer_min_mm='1/2"', heat_deflection_c="150",
                pot_life_mass_g="6 oz", pot_life_at_c="68 F")  # fmt: skip
    sheet = SheetRevision.objects.get()
    assert (sheet.layer_min_mm, sheet.heat_deflection_c) == (Decimal("12.70"), Decimal("65.6"))
    assert (sheet.pot_life_mass_g, sheet.pot_life_at_c) == (Decimal("170.1"), Decimal(20))
    page = us_manager.get(f"/products/{product.pk}/").text
    assert "1/2 in" in page
    assert "150.1 °F" in page


def test_the_page_says_every_figure_also_the_unknown_ones(manager, product):
    enter_sheet(manager, product, does_not_apply=["coverage_m2_per_l"])
    page = manager.get(f"/products/{product.pk}/").text
    for words in (
        "2 : 1", "1 h in a mass of 150 g at 20 °C", "1 h 30 min",
        "24 h at a temperature not recorded",
        "13 mm", "65 °C, by a method not recorded", "Not recorded", "Not applicable",
        'href="https://example.com/sds"', "May cause an allergic skin reaction.",
    ):  # fmt: skip
        assert words in page, words


FOR_PLANS = {
    "density_mixed_g_ml": "0.62", "pot_life_large": "20 min", "pot_life_large_mass_g": "600 g",
    "activation_energy_kj_mol": "58", "heat_of_reaction_j_g": "350",
    "coverage_m2_per_l": "6", "coverage_end_grain_m2_per_l": "2.5",
}  # fmt: skip


def test_the_figures_that_a_plan_reckons_with_are_typed_and_shown(manager, product):
    assert enter_sheet(manager, product, **FOR_PLANS).status_code == 302
    sheet = SheetRevision.objects.get()
    assert (sheet.density_mixed_g_ml, sheet.pot_life_large) == (
        Decimal("0.62"), timedelta(minutes=20),
    )  # fmt: skip
    page = manager.get(f"/products/{product.pk}/").text
    for words in (
        "Density once mixed", "0.62 g/ml", "20 min in a mass of 600 g", "58 kJ/mol", "350 J/g",
        "One litre covers of end grain", "2.5 m²",
    ):  # fmt: skip
        assert words in page, words


def test_what_belongs_together_is_typed_side_by_side(manager, product):
    form = manager.get(f"/products/{product.pk}/sheets/new/").context["form"]
    rows = [[field.name for field in pair] for group in form.groups() for pair in group.pairs]
    assert ["pot_life", "pot_life_mass_g"] in rows
    assert ["pot_life_large", "pot_life_large_mass_g"] in rows
    assert ["heat_deflection_c", "heat_deflection_method"] in rows


def test_the_larger_mass_of_a_pot_life_is_typed_in_the_units_of_the_person(us_manager, product):
    enter_sheet(us_manager, product, **FOR_PLANS | {"pot_life_large_mass_g": "21 oz"})
    assert SheetRevision.objects.get().pot_life_large_mass_g == Decimal("595.3")
    assert "20 min in a mass of 1.312 lb" in us_manager.get(f"/products/{product.pk}/").text


def test_a_larger_mass_that_is_not_told_is_said(manager, product):
    enter_sheet(manager, product, **FOR_PLANS | {"pot_life_large_mass_g": ""})
    assert "20 min in a mass not recorded" in manager.get(f"/products/{product.pk}/").text


def test_a_further_sheet_begins_with_the_last_and_leaves_it_as_it_is(manager, product):
    enter_sheet(manager, product)
    form = manager.get(f"/products/{product.pk}/sheets/new/").text
    assert 'value="1 h 30 min"' in form
    assert 'value="13 mm"' in form
    enter_sheet(manager, product, revision="Issue 5", issued_on="2026-06-01", cure_time="36 h")
    old, new = SheetRevision.objects.order_by("issued_on")
    assert (old.cure_time, new.cure_time) == (timedelta(hours=24), timedelta(hours=36))
    page = manager.get(f"/products/{product.pk}/").text
    assert page.index("Issue 5, issued") < page.index("Issue 4, issued")
    assert product.sheet_on(date(2026, 5, 31)) == old


def test_a_sheet_opened_and_saved_again_says_the_same(us_manager, product):
    enter_sheet(us_manager, product, layer_min_mm="13 mm", cure_at_c="23 °C", density_a_g_ml="1.15")
    form = us_manager.get(f"/products/{product.pk}/sheets/new/").context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() is not None}
    us_manager.post(
        f"/products/{product.pk}/sheets/new/",
        data | {"revision": "Issue 5", "issued_on": "2026-02-01"},
    )
    old, new = SheetRevision.objects.order_by("issued_on")
    skipped = {"id", "revision", "issued_on"}
    names = [f.name for f in SheetRevision._meta.concrete_fields if f.name not in skipped]
    assert {n: getattr(old, n) for n in names} == {n: getattr(new, n) for n in names}


def test_a_one_part_product_has_no_figures_of_a_mix(manager):
    paint = factories.ProductFactory(parts=1)
    assert "Pot life" not in manager.get(f"/products/{paint.pk}/sheets/new/").text
    enter_sheet(manager, paint, volume_a="", volume_b="")
    assert "pot_life" in SheetRevision.objects.get().not_applicable


def test_a_sheet_with_another_shelf_life_moves_the_last_days_of_its_lots(manager, product):
    lot = factories.LotFactory(product=product, expires_on=None)
    assert lot.usable_until is None
    enter_sheet(manager, product, shelf_life_unopened_months="12", issued_on="2026-01-01")
    assert Lot.objects.get().usable_until == date(2027, 1, 10)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"revision": ""}, "Still empty: type or choose"),
        ({"issued_on": ""}, "Give the day printed on the sheet."),
        ({"issued_on": "2225-01-01"}, "Check the year"),
        ({"volume_b": ""}, "A ratio by volume needs both parts"),
        ({"weight_a": "0"}, "Type a figure above zero"),
        ({"weight_a": "-100", "weight_b": "33"}, "Type a figure above zero"),
        ({"pot_life": "60"}, "Say minutes, hours or days"),
        ({"pot_life": "-60 min"}, "cannot be below zero"),
        ({"cure_time": "40 years"}, "Months and years differ in length"),
        ({"working_time_thin": "10 min"}, "A thin piece is workable for at least as long"),
        ({"recoat_from": "5 h", "recoat_to": "2 h"}, "ends before it begins"),
        ({"layer_max_mm": "5 mm"}, "thinner than the least layer"),
        ({"layer_min_mm": "13 °C"}, "is a temperature, not a length"),
        ({"apply_min_c": "20", "apply_max_c": "10"}, "below the lowest"),
        ({"pot_life_large": "2 h"}, "workable for no longer than a small one"),
        ({"pot_life_large_mass_g": "100 g"}, "smaller than the mass of the first pot life"),
        ({"activation_energy_kj_mol": "580"}, "from 10 to 200 kJ/mol. Check the figure"),
        ({"activation_energy_kj_mol": "5.5"}, "from 10 to 200 kJ/mol"),
        ({"heat_of_reaction_j_g": "0"}, "Type a figure above zero"),
        ({"density_mixed_g_ml": "-1"}, "A density cannot be below zero"),
        ({"coverage_end_grain_m2_per_l": "0"}, "Type a figure above zero"),
        ({"heat_deflection_c": "6500"}, "Check the figure and its unit"),
        ({"ratio_tolerance_pct": "500"}, "percentage from 0 to 100"),
        ({"safety_sheet_url": "javascript:alert(1)"}, "Enter a valid URL"),
        ({"hazards": "x" * 5001}, "at most 5000 characters"),
        ({"cure_time": "24 h", "does_not_apply": ["cure_time"]}, "Clear one of the two"),
        ({"shelf_life_opened_months": "-1"}, "greater than or equal to 0"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused(manager, product, changes, sentence):
    page = enter_sheet(manager, product, **changes)
    assert page.status_code == 200
    assert sentence in page.text
    assert not SheetRevision.objects.exists()


def test_a_revision_is_kept_once(manager, product):
    enter_sheet(manager, product)
    assert "This revision of the sheet is already kept." in enter_sheet(manager, product).text


def test_a_product_is_entered_and_changed(manager):
    data = {"name": "Sealer", "maker": "Example", "kind": "sealer", "parts": "2"}
    response = manager.post("/products/new/", data)
    product = Product.objects.get()
    assert response.url == f"/products/{product.pk}/"
    assert "already kept" in manager.post("/products/new/", data).text
    manager.post(f"/products/{product.pk}/edit/", data | {"withdrawn_on": "2026-01-01"})
    assert product not in [row.record for row in manager.get("/products/").context["table"].rows]
    assert "No longer bought from 1 January 2026" in manager.get(response.url).text


def test_a_product_in_use_keeps_its_parts(manager, product):
    factories.LotFactory(product=product)
    data = {"name": "Oak Putty", "maker": "Example Resins", "kind": "filler", "parts": "1"}
    assert "Enter it as another product" in manager.post(f"/products/{product.pk}/edit/", data).text


def test_a_pack_with_its_price(manager, product):
    data = {"name": "1 kg kit", "mass_a_g": "1 kg", "mass_b_g": "330", "price": "60",
            "currency": "GBP"}  # fmt: skip
    manager.post(f"/products/{product.pk}/kits/new/", data)
    kit = Kit.objects.get()
    assert (kit.mass_a_g, kit.mass_b_g, kit.price_minor) == (1000, 330, 6000)
    page = manager.get(f"/products/{product.pk}/").text
    assert "A 1000 g, B 330 g" in page
    assert "GBP 60.00" in page
    manager.post(f"/kits/{kit.pk}/edit/", data | {"price": ""})
    assert Kit.objects.get().price_minor is None


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"mass_b_g": ""}, "Give both A and B by weight, or neither."),
        ({"mass_a_g": "", "mass_b_g": ""}, "Say how much the kit holds"),
        ({"mass_a_g": "0"}, "above zero"),
        ({"mass_a_g": "5 l"}, "is a volume, not a weight"),
        ({"price": "-60"}, "at least GBP 0.00"),
        ({"currency": "XXX"}, "not a currency code"),
        ({"name": ""}, "Still empty: type or choose"),
    ],
)
def test_a_pack_that_cannot_be_is_refused(manager, product, changes, sentence):
    data = {"name": "Kit", "mass_a_g": "1 kg", "mass_b_g": "330", "currency": "GBP"} | changes
    page = manager.post(f"/products/{product.pk}/kits/new/", data)
    assert sentence in page.text
    assert not Kit.objects.exists()


def test_the_list_names_the_latest_figures(manager):
    factories.SheetRevisionFactory(product__name="Sealer")
    factories.ProductFactory(name="Unknown")
    page = manager.get("/products/").text
    assert "100 : 33 by weight, pot life 1 h, full cure 24 h" in page
    assert "No sheet entered yet" in page


def test_a_product_is_found_by_name_and_kind(manager):
    putty = factories.ProductFactory(name="Oak Putty", kind="filler")
    factories.ProductFactory(name="Oak Paint", kind="paint")

    def shown(query):
        return [row.record for row in manager.get(f"/products/?{query}").context["table"].rows]

    assert shown("q=putty+oak") == [putty]
    assert shown("kind=filler") == [putty]
    assert shown("show=withdrawn") == []
    assert len(shown("show=all")) == 2


PAGES = ["products/{}/", "products/{}/edit/", "products/{}/sheets/new/", "products/{}/kits/new/"]


@pytest.mark.parametrize("path", PAGES)
def test_viewers_have_no_products_and_crew_only_reads_them(client, product, path):
    url = "/" + path.format(product.pk)
    client.force_login(factories.make_viewer())
    assert client.get(url).status_code == 403
    client.force_login(factories.make_crew())
    assert client.get(url).status_code == (200 if path == PAGES[0] else 403)
    assert "Enter a data sheet" not in client.get(f"/products/{product.pk}/").text


def test_a_product_with_many_lots_asks_no_more(manager, product, django_assert_max_num_queries):
    for number in range(15):
        factories.SheetRevisionFactory(product=product)
        factories.make_kit_lot(product, number=f"K{number}")
        factories.KitFactory(product=product)
    with django_assert_max_num_queries(12):
        assert manager.get(f"/products/{product.pk}/").status_code == 200

"""The page of a plan in a real browser: seen again at each change, also without a script."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from playwright.sync_api import Page, expect

from materials.models import Product
from repairs.models import Plan
from tests import factories as make
from tests.conftest import DESKTOP
from tests.repairs.hands import signed_in

pytestmark = pytest.mark.browser
TOMORROW = datetime.now(ZoneInfo("Europe/London")) + timedelta(days=1)


@pytest.fixture
def crew(transactional_db):
    return make.make_crew(first_name="Robin", last_name="Larch")


@pytest.fixture
def defect(transactional_db):
    usual = {"density_mixed_g_ml": Decimal(1), "coverage_m2_per_l": Decimal(5),
             "recoat_from": timedelta(hours=4), "layer_max_mm": Decimal(25)}  # fmt: skip
    for name, kind in (
        ("Invented Seal", Product.Kind.LAMINATING_RESIN),
        ("Invented Putty", Product.Kind.FILLER),
    ):
        product = make.ProductFactory(name=name, kind=kind)
        make.SheetRevisionFactory(product=product, **usual)
        make.make_kit_lot(product, a=5000, b=1650, expires_on=(TOMORROW + timedelta(900)).date())
    return make.DefectFactory(
        member__mark="N-SILL-03", length_mm=Decimal(300), width_mm=Decimal(80), depth_mm=Decimal(40)
    )


def opened(page: Page, defect) -> None:
    page.goto(f"/defects/{defect.pk}/plan/")
    page.locator("[name='shape-0-length']").fill("300")
    page.locator("[name='shape-0-width']").fill("80")
    page.locator("[name='shape-0-depth']").fill("40")
    page.locator("[name='air_day']").fill("18")
    page.locator("[name='air_night']").fill("10")


def summary(page: Page):
    return page.locator("#plan-summary")


def test_a_changed_number_is_seen_again_without_a_reload(chromium, live_server, crew, defect):
    with signed_in(
        chromium, live_server.url, crew, viewport=DESKTOP, is_mobile=False, has_touch=False
    ) as page:
        opened(page, defect)
        expect(summary(page)).to_contain_text("2 layers of 20 mm")
        # The last answer asked for is in; a click is not lost to one that comes in between.
        expect(page.locator("#plan-results")).to_contain_text("steady swing")
        page.evaluate("window.notReloaded = true")
        depth = page.locator("[name='shape-0-depth']")
        page.locator("#plan-results .figure > summary").first.click()
        open_figures = page.locator("#plan-results .figure[open]")
        expect(open_figures).to_have_count(1)
        depth.fill("60")
        expect(summary(page)).to_contain_text("3 layers of 20 mm")
        assert page.evaluate("window.notReloaded")
        assert page.evaluate("document.activeElement.name") == "shape-0-depth"
        expect(open_figures).to_have_count(1)


def test_what_is_wrong_is_said_at_its_field_and_gone_when_put_right(
    chromium, live_server, crew, defect
):
    with signed_in(chromium, live_server.url, crew) as page:
        opened(page, defect)
        depth = page.locator("[name='shape-0-depth']")
        depth.fill("deep")
        expect(page.locator(".errorlist")).to_contain_text("Begin with a number")
        expect(depth).to_have_attribute("aria-invalid", "true")
        expect(summary(page)).to_contain_text("Not worked out")
        depth.fill("40")
        expect(page.locator(".errorlist")).to_have_count(0)
        expect(summary(page)).to_contain_text("2 layers")
        expect(page.locator("#plan-glance")).to_contain_text("2 layers")


def test_no_answer_is_said_and_loses_nothing(chromium, live_server, crew, defect):
    with signed_in(chromium, live_server.url, crew) as page:
        opened(page, defect)
        expect(summary(page)).to_contain_text("2 layers")
        expect(page.locator("#plan-no-answer")).to_be_hidden()
        page.context.clear_cookies()
        page.locator("[name='shape-0-depth']").fill("60")
        expect(page.locator("#plan-no-answer")).to_be_visible()
        expect(page.locator("[name='shape-0-depth']")).to_have_value("60")
        expect(summary(page)).to_contain_text("2 layers")


def test_the_whole_way_works_without_a_script(chromium, live_server, crew, defect):
    with signed_in(chromium, live_server.url, crew, java_script_enabled=False) as page:
        opened(page, defect)
        page.get_by_role("button", name="Work it out").last.click()
        expect(summary(page)).to_contain_text("2 layers of 20 mm")
        page.get_by_role("button", name="One more shape").click()
        page.locator("[name='shape-1-length']").fill("100")
        page.locator("[name='shape-1-width']").fill("80")
        page.locator("[name='shape-1-depth']").fill("60")
        page.get_by_role("button", name="Save this plan").click()
        page.wait_for_url(re.compile(r"/plans/\d+/"))
        expect(page.get_by_text("3 layers of 20 mm").first).to_be_visible()
    assert Plan.objects.get().shapes.count() == 2


def test_a_plan_is_made_by_keyboard_alone(chromium, live_server, crew, defect):
    with signed_in(
        chromium, live_server.url, crew, viewport=DESKTOP, is_mobile=False, has_touch=False
    ) as page:
        page.goto(f"/defects/{defect.pk}/plan/")
        page.locator("[name='shape-0-length']").focus()
        for figure in ("300", "80", "40"):
            page.keyboard.press("ControlOrMeta+a")
            page.keyboard.type(figure)
            page.keyboard.press("Tab")
        expect(summary(page)).to_contain_text("2 layers")
        page.locator("[name='notes']").focus()
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.textContent") == "Save this plan"
        page.keyboard.press("Enter")
        page.wait_for_url(re.compile(r"/plans/\d+/"))


def test_enter_in_a_field_works_it_out_and_saves_nothing(chromium, live_server, crew, defect):
    with signed_in(chromium, live_server.url, crew, java_script_enabled=False) as page:
        opened(page, defect)
        page.locator("[name='shape-0-depth']").press("Enter")
        expect(summary(page)).to_contain_text("2 layers")
    assert not Plan.objects.exists()


def test_the_pages_fit_a_phone_and_pass_the_accessibility_rules(
    chromium, live_server, crew, defect
):
    with signed_in(chromium, live_server.url, crew) as page:
        opened(page, defect)
        expect(summary(page)).to_contain_text("2 layers")
        for fold in page.locator("details:not([open]) > summary").all():
            if fold.is_visible():
                fold.click()
        fits(page)
        page.get_by_role("button", name="Save this plan").click()
        page.wait_for_url(re.compile(r"/plans/\d+/"))
        fits(page)
        page.goto("/plans/")
        fits(page)


def fits(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()


def test_the_print_has_the_results_and_not_the_form(chromium, live_server, crew, defect):
    with signed_in(
        chromium, live_server.url, crew, viewport=DESKTOP, is_mobile=False, has_touch=False
    ) as page:
        opened(page, defect)
        expect(summary(page)).to_contain_text("2 layers")
        page.emulate_media(media="print")
        expect(page.locator("#plan")).to_be_hidden()
        expect(page.locator(".strip")).to_be_visible()
        beside = page.locator(".plan-beside").evaluate("e => [e.scrollHeight, e.clientHeight]")
        assert beside[0] == beside[1], "nothing is cut off below"


def test_the_policy_for_scripts_stays_strict(crew, defect, client: Client):
    client.force_login(crew)
    answer = client.get(f"/defects/{defect.pk}/plan/")
    assert "unsafe" not in answer["Content-Security-Policy"]
    assert '"allowEval": false' in answer.content.decode()

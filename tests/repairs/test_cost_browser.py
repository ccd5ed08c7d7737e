"""The account of costs on a phone, by keyboard, and by the rules of accessibility."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests import factories as make
from tests.repairs.cost_world import World, index, make_world, option, plan_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
LONG = "Long-" * 30


@pytest.fixture
def world(transactional_db) -> World:
    made = make_world()
    index(y2023="100", y2024="110")
    option(plan_of(made.resin), "replace", 90000, 5000)
    return made


def log_in(page: Page) -> None:
    make.make_manager(username="ash")
    page.goto("/log-in/")
    page.fill("[name=username]", "ash")
    page.fill("[name=password]", make.PASSWORD)
    page.press("[name=password]", "Enter")
    page.wait_for_url("**/")


def addresses(world: World) -> tuple[str, ...]:
    return (
        f"/costs/building/{world.barn.pk}/",
        f"/costs/property/{world.property.pk}/",
        "/costs/all/",
        f"/costs/lines/?building={world.barn.pk}&member={world.sill.pk}&tax=recorded",
        "/costs/lines/?member=nobody",
    )


def test_no_page_scrolls_sideways_on_a_phone(phone_page: Page, world: World) -> None:
    for row, name in ((world.barn, "name"), (world.north, "name"), (world.sill, "mark")):
        setattr(row, name, LONG[:40] if name == "mark" else LONG[:80])
        row.save()
    make.CostLineFactory(building=world.barn, amount_minor=123_456_789_00)
    log_in(phone_page)
    for address in addresses(world):
        phone_page.goto(address)
        for figure in phone_page.locator(".figure > summary").all()[:6]:
            figure.click()
        assert phone_page.evaluate("document.documentElement.scrollWidth") <= 390, address


def test_a_figure_opens_to_its_lines_by_keyboard(browser_page: Page, world: World) -> None:
    log_in(browser_page)
    browser_page.goto(f"/costs/building/{world.barn.pk}/")
    browser_page.locator("#GBP-repair-kind").get_by_role("link", name="500.00").focus()
    browser_page.keyboard.press("Enter")
    browser_page.get_by_text("1 cost line of Barn, on repairs: timber splice").wait_for()
    assert browser_page.locator("tfoot").inner_text().split()[-1] == "500.00"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_pages_pass_the_accessibility_rules(
    browser_page: Page, world: World, scheme: str
) -> None:
    log_in(browser_page)
    browser_page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    for address in addresses(world):
        browser_page.goto(address)
        results = Axe().run(browser_page)
        assert results.violations_count == 0, f"{address}: {results.generate_report()}"

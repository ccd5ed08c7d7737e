"""The years ahead on a phone, by keyboard, and by the rules of accessibility."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import Page

from properties.models import Property
from repairs.models import WorkMove
from tests import factories as make
from tests.repairs.ahead.places import price, yard

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
QUERY = "?years=30&rise=3&reserve=500&interest=2"
LONG = "Long-" * 30


def in_two_years() -> int:
    """The server under test goes by the clock on the wall."""
    return timezone.now().year + 2


def priced_yard(**facts: str) -> Property:
    of = yard(painted=in_two_years(), **facts)
    price(of)
    return of


def log_in(page: Page) -> None:
    make.make_manager(username="ash")
    page.goto("/log-in/")
    page.fill("[name=username]", "ash")
    page.fill("[name=password]", make.PASSWORD)
    page.press("[name=password]", "Enter")
    page.wait_for_url("**/")


def addresses(of: Property) -> tuple[str, ...]:
    return (
        f"/ahead/{QUERY}", f"/properties/{of.pk}/ahead/{QUERY}&year={in_two_years()}",
        f"/properties/{of.pk}/rates/", f"/properties/{of.pk}/ahead/move/",
        f"/properties/{of.pk}/ahead/?years=x&rise=1e9",
    )  # fmt: skip


def test_no_page_scrolls_sideways_on_a_phone(phone_page: Page) -> None:
    of = priced_yard(name=LONG)
    make.WorkMoveFactory(
        elevation=of.buildings.get().elevations.get(), first_year=in_two_years(),
        last_year=in_two_years(), to_year=in_two_years() + 2, reason=LONG,
    )  # fmt: skip
    log_in(phone_page)
    for address in addresses(of):
        phone_page.goto(address)
        for figure in phone_page.locator(".figure > summary").all()[:4]:
            figure.click()
        assert phone_page.evaluate("document.documentElement.scrollWidth") <= 390, address


def test_an_offer_is_taken_up_with_two_taps(phone_page: Page) -> None:
    of = priced_yard()
    log_in(phone_page)
    phone_page.goto(f"/properties/{of.pk}/ahead/")
    phone_page.get_by_role("link", name=f"Do it all in {in_two_years()}").tap()
    phone_page.get_by_role("button", name="Save this move").tap()
    phone_page.get_by_role("heading", name="Moved to another year").wait_for()
    assert WorkMove.objects.get().to_year == in_two_years()
    phone_page.get_by_role("button", name="Drop this move").tap()
    phone_page.get_by_text("The work stands in its own years again.").wait_for()
    assert not WorkMove.objects.exists()


def test_what_is_tapped_is_large_enough(phone_page: Page) -> None:
    of = priced_yard()
    log_in(phone_page)
    phone_page.goto(f"/properties/{of.pk}/ahead/")
    for button in ("Show", f"Do it all in {in_two_years()}"):
        box = phone_page.get_by_text(button, exact=True).first.bounding_box()
        assert box is not None
        assert box["height"] >= 48, button


def test_a_year_opens_by_keyboard(browser_page: Page) -> None:
    of = priced_yard()
    log_in(browser_page)
    browser_page.goto(f"/properties/{of.pk}/ahead/")
    browser_page.get_by_role("link", name=str(in_two_years()), exact=True).focus()
    browser_page.keyboard.press("Enter")
    browser_page.get_by_text(f"The jobs of {in_two_years()}").wait_for()
    assert "#year" in browser_page.url


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_pages_pass_the_accessibility_rules(browser_page: Page, scheme: str) -> None:
    of = priced_yard()
    log_in(browser_page)
    browser_page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    for address in addresses(of):
        browser_page.goto(address)
        results = Axe().run(browser_page)
        assert results.violations_count == 0, f"{address}: {results.generate_report()}"

"""The pages of calendars and mails: by keyboard, on a phone, and read out."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from repairs.models import CalendarFeed
from tests import factories as make

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def feed() -> CalendarFeed:
    user = make.make_manager(username="ash", email="ash@example.org")
    name = "The Old Wheelwright’s Yard and the long boathouse beside the lock at Larkfield " * 2
    feed: CalendarFeed = make.CalendarFeedFactory(
        user=user, shows="property", property=make.PropertyFactory(name=name)
    )
    return feed


def log_in(page: Page) -> None:
    page.goto("/log-in/")
    page.fill("[name=username]", "ash")
    page.fill("[name=password]", make.PASSWORD)
    page.press("[name=password]", "Enter")
    page.wait_for_url("**/")


def test_an_address_is_copied_by_keyboard(browser_page: Page, feed: CalendarFeed) -> None:
    browser_page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    log_in(browser_page)
    browser_page.goto("/calendars/")
    browser_page.get_by_role("button", name="Copy the address").press("Enter")
    expect(browser_page.get_by_role("button", name="Copied")).to_be_visible()
    copied = browser_page.evaluate("navigator.clipboard.readText()")
    assert copied.endswith(f"/calendars/{feed.token}.ics")


def test_without_a_clipboard_the_address_is_chosen_to_be_copied(
    browser_page: Page, feed: CalendarFeed
) -> None:
    log_in(browser_page)
    browser_page.add_init_script("delete Navigator.prototype.clipboard")
    browser_page.goto("/calendars/")
    browser_page.get_by_role("button", name="Copy the address").click()
    expect(browser_page.get_by_role("button", name="Now copy what is chosen")).to_be_visible()
    assert feed.token in browser_page.evaluate("getSelection().toString()")


def test_an_address_is_renewed_in_two_steps(phone_page: Page, feed: CalendarFeed) -> None:
    log_in(phone_page)
    phone_page.goto("/calendars/")
    phone_page.get_by_text("Renew or remove it").tap()
    phone_page.get_by_role("button", name="Renew the address").tap()
    expect(phone_page.get_by_text("the old address is dead")).to_be_visible()
    old = feed.token
    feed.refresh_from_db()
    assert feed.token != old


@pytest.mark.parametrize("path", ["/calendars/", "/calendars/?property=1", "/mail/"])
def test_the_pages_fit_a_phone_and_can_be_read_out(
    phone_page: Page, feed: CalendarFeed, path: str
) -> None:
    log_in(phone_page)
    phone_page.goto(path)
    assert phone_page.evaluate("document.documentElement.scrollWidth") <= 390
    found = Axe().run(phone_page)
    assert found.violations_count == 0, found.generate_report()

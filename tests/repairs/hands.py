"""A person at the log page: what is touched and typed, counted."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.contrib.auth.models import User
from django.test import Client
from playwright.sync_api import Browser, Page
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from tests.conftest import PHONE


@contextmanager
def signed_in(browser: Browser, url: str, user: User, **how: Any) -> Iterator[Page]:
    """A phone in Britain with the person logged in; `how` goes to the browser's context."""
    client = Client()
    client.force_login(user)
    how = {"viewport": PHONE, "has_touch": True, "is_mobile": True, "locale": "en-GB", **how}
    context = browser.new_context(base_url=url, **how)
    context.set_default_timeout(20_000)
    session = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": url}])
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(said.text) if "violates" in said.text else None)
    yield page
    context.close()
    assert not errors, errors


def wait_until_saved(page: Page) -> None:
    """The page of the saved repair; if it was not saved, what the log page says is wrong."""
    try:
        page.wait_for_url(re.compile(r"/repairs/\d+/"), timeout=10_000)
    except PlaywrightTimeout:
        said = page.locator(".errors-top, .remark-warning, .page-head").all_inner_texts()
        raise AssertionError("\n".join(said)) from None


class Hands:
    """Counts fields touched, keys pressed and taps on buttons, as a thumb would need them."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.fields = self.keys = self.taps = 0

    def type(self, name: str, text: str) -> None:
        """Type into a field key by key. A date is typed as `06052026`, a time as `0830`: a phone
        has its own dial for these, so that they are set here and their digits are counted."""
        field = self.page.locator(f"[name='{name}']")
        kind = field.get_attribute("type")
        if kind == "date":
            field.fill(f"{text[4:]}-{text[2:4]}-{text[:2]}")
        elif kind == "time":
            field.fill(f"{text[:2]}:{text[2:]}")
        else:
            field.click()
            self.page.keyboard.type(text)
        self.fields += 1
        self.keys += len(text)

    def choose(self, name: str, words: str) -> None:
        """Choose from a list: one tap opens it, one chooses; counted as one key."""
        field = self.page.locator(f"select[name='{name}']")
        option = field.locator("option", has_text=words).first
        field.select_option(value=option.get_attribute("value") or "")
        self.fields += 1
        self.keys += 1

    def tap(self, words: str, within: str = "#content") -> None:
        self.page.locator(within).get_by_text(words, exact=True).last.click()
        self.taps += 1

    def press(self, words: str, within: str = "#content") -> None:
        self.page.locator(within).get_by_role("button", name=words, exact=True).last.click()
        self.taps += 1

    def open(self, stage: int) -> None:
        self.page.locator(f"#stage-{stage} > summary").click()
        self.taps += 1

"""Fixtures for every test: a database of its own, a folder of its own, and a browser."""

import os
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest
from django.db import connection
from playwright.sync_api import Browser, Page, ViewportSize, sync_playwright
from pytest_django.fixtures import Settings
from pytest_django.live_server_helper import LiveServer

# A slow machine is no fault of the code under test, and neither is a case that another run would
# not have drawn: new cases are hunted by developers' runs, CI tries the same ones each time.
hypothesis.settings.register_profile(
    "makegood", deadline=None, derandomize=bool(os.environ.get("CI"))
)
hypothesis.settings.load_profile("makegood")

CHROMIUM = Path("/usr/bin/chromium")
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
DESKTOP: ViewportSize = {"width": 1280, "height": 900}
PHONE: ViewportSize = {"width": 390, "height": 844}


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """SQLite in a file, as in use: the server under test then has connections of its own."""
    if connection.vendor == "sqlite":
        name = tmp_path_factory.mktemp("database") / "test.sqlite3"
        connection.settings_dict["TEST"]["NAME"] = str(name)


@pytest.fixture(autouse=True)
def media_root(settings: Settings, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path / "media"
    return tmp_path / "media"


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        pytest.fail(f"{CHROMIUM} is missing. Install it, as root: apt-get install chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture
def browser_page(chromium: Browser, live_server: LiveServer) -> Iterator[Page]:
    """A desktop window; addresses in goto() are relative to the server under test."""
    yield from pages(chromium, live_server.url, DESKTOP, touch=False)


@pytest.fixture
def phone_page(chromium: Browser, live_server: LiveServer) -> Iterator[Page]:
    yield from pages(chromium, live_server.url, PHONE, touch=True)


def pages(browser: Browser, url: str, size: ViewportSize, touch: bool) -> Iterator[Page]:
    context = browser.new_context(base_url=url, viewport=size, has_touch=touch, is_mobile=touch)
    context.set_default_timeout(20_000)
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(said.text) if "violates" in said.text else None)
    yield page
    context.close()
    assert not errors, f"The page's scripts failed or broke the content security policy: {errors}"

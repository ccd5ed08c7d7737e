"""The look keeps its promises: contrast, no inline style, nothing fetched from elsewhere."""

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.template.loader import render_to_string
from django.utils.translation import override

ROOT = Path(settings.BASE_DIR)
STYLES = sorted((ROOT / "config" / "static").glob("*.css"))
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
INKS = ("ink", "ink-soft", "ink-blue", "ink-red", "ink-ochre")
PAPERS = ("paper", "paper-shade")
# Printed in black on white, whatever the screen.
OF_PAPER = {"print.css", "pdf.css", "work-sheet.css", "round-sheet.css"}


def colours() -> dict[str, tuple[str, str]]:
    text = (ROOT / "config" / "static" / "makegood.css").read_text()
    found = re.findall(r"--([a-z-]+): light-dark\(\s*(#\w{6}),\s*(#\w{6})\)", text)
    return {name: (light, dark) for name, light, dark in found}


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, definition of 'relative luminance'."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2, definition of 'contrast ratio'."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_gives_the_known_ends():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("ink", INKS)
def test_every_ink_stands_at_seven_to_one_on_every_paper(ink, paper):
    for inks, papers in zip(colours()[ink], colours()[paper], strict=True):
        assert contrast(inks, papers) >= 7


def test_the_edge_of_a_field_stands_at_three_to_one():
    for edge, paper in zip(colours()["rule-strong"], colours()["paper"], strict=True):
        assert contrast(edge, paper) >= 3


@pytest.mark.parametrize("path", STYLES, ids=lambda p: p.name)
def test_a_stylesheet_takes_nothing_from_elsewhere_and_stays_short(path):
    text = path.read_text()
    assert not re.search(r"url\(|@import|https?:", text)
    assert len(text.splitlines()) <= 400


def test_screen_colours_are_named_in_one_place():
    for path in STYLES:
        if path.name not in OF_PAPER | {"makegood.css"}:
            text = re.sub(r"light-dark\([^)]*\)", "", path.read_text())
            assert not re.findall(r"#[0-9a-f]{3,8}\b", text), path


def test_templates_have_no_inline_style_script_or_handler():
    for path in TEMPLATES:
        text = path.read_text()
        assert not re.search(r"\sstyle=|<style|\son[a-z]+=[\"']", text), path
        assert not re.search(r"<script(?![^>]*\ssrc=)", text), path


def test_templates_load_nothing_from_another_host():
    for path in TEMPLATES:
        assert not re.search(r"(?:src|href)=[\"'](?:https?:)?//", path.read_text()), path


def test_the_title_stands_in_the_tab_and_over_the_page(client):
    page = client.get("/log-in/").content.decode()
    assert "<title>Log in – Makegood</title>" in page
    assert page.count("<h1>") == 1


def test_a_page_without_margin_notes_has_no_margin(client):
    assert "<aside" not in client.get("/log-in/").content.decode()


def test_a_wrong_password_says_what_to_do_and_keeps_the_name(client, db):
    answer = client.post("/log-in/", {"username": "nora", "password": "wrong"})
    page = answer.content.decode()
    assert 'value="nora"' in page
    assert "Please enter a correct username and password" in page


@pytest.mark.parametrize("name", ["400.html", "500.html"])
def test_a_failure_page_needs_no_database(name):
    assert "nothing" in render_to_string(name)


def test_a_bar_writes_its_width_with_a_point_in_any_language():
    row = {"label": "2025", "value": "12", "width": 12.5}
    with override("de"):
        drawn = render_to_string("_bars.html", {"id": "y", "rows": [row]})
    assert 'width="12.5%"' in drawn


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_log_in_page_passes_the_accessibility_rules(browser_page, scheme):
    browser_page.emulate_media(color_scheme=scheme)
    browser_page.goto("/log-in/")
    results = Axe().run(browser_page)
    assert results.violations_count == 0, results.generate_report()


@pytest.mark.browser
def test_the_log_in_page_fits_a_phone_and_works_by_keyboard(phone_page):
    phone_page.goto("/log-in/")
    assert phone_page.evaluate("document.documentElement.scrollWidth") <= 390
    assert phone_page.get_by_role("button", name="Log in").bounding_box()["height"] >= 44
    phone_page.keyboard.type("nora")
    phone_page.keyboard.press("Tab")
    phone_page.keyboard.type("wrong")
    phone_page.keyboard.press("Enter")
    phone_page.get_by_text("Please enter a correct username and password").wait_for()


@pytest.mark.browser
def test_the_first_thing_a_keyboard_meets_leads_past_the_top_line(browser_page):
    browser_page.goto("/log-in/")
    skip = browser_page.get_by_role("link", name="Skip to the page itself")
    skip.focus()
    assert skip.bounding_box()["height"] >= 24
    browser_page.keyboard.press("Enter")
    assert browser_page.evaluate("document.activeElement.id") == "content"

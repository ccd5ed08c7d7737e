"""Sealed on one day and filled on the next, by thumb, with and without a script."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import expect

from materials.models import Product
from repairs.models import Repair
from tests.factories import (
    MemberFactory,
    ProductFactory,
    SheetRevisionFactory,
    make_crew,
    make_kit_lot,
)
from tests.repairs.hands import Hands, signed_in, wait_until_saved

pytestmark = pytest.mark.browser
LONDON = ZoneInfo("Europe/London")


def days_ago(days: int) -> str:
    return (datetime.now(LONDON) - timedelta(days=days)).strftime("%d%m%Y")


@pytest.fixture
def sill(transactional_db):
    for name, kind, number in (
        ("Invented Seal", Product.Kind.LAMINATING_RESIN, "K-17"),
        ("Invented Putty", Product.Kind.FILLER, "P-4"),
    ):
        product = ProductFactory(name=name, kind=kind)
        SheetRevisionFactory(product=product, recoat_to=None)
        make_kit_lot(product, number=number)
    return MemberFactory(mark="N-SILL-03")


@pytest.mark.parametrize("script", [True, False])
def test_a_repair_goes_on_the_next_day_with_few_fields(chromium, live_server, sill, script):
    crew = make_crew(first_name="Robin", last_name="Larch")
    with signed_in(chromium, live_server.url, crew, java_script_enabled=script) as page:
        page.goto(f"/repairs/log/?member={sill.pk}")
        hands = Hands(page)
        page.get_by_text("Left end", exact=True).click()
        hands.type("stage-0-on", days_ago(3))
        hands.choose("stage-0-batch-0-lot", "K-17")
        hands.type("stage-0-batch-0-amount", "100+33")
        hands.type("stage-0-batch-0-mixed", "0800")
        page.get_by_label("The repair is finished").uncheck()
        hands.press("Save this repair")
        wait_until_saved(page)
        # The next day: from the member, as a crew comes back to it.
        page.goto(f"/repairs/log/?member={sill.pk}")
        page.get_by_role("link", name="Go on with it").click()
        expect(page.get_by_text("Done so far")).to_be_visible()
        hands = Hands(page)
        hands.type("stage-0-on", days_ago(1))
        hands.choose("stage-0-batch-0-lot", "P-4")
        hands.type("stage-0-batch-0-amount", "100+33")
        hands.type("stage-0-batch-0-mixed", "0900")
        hands.press("Add to this repair")
        wait_until_saved(page)
    assert hands.fields == 4
    repair = Repair.objects.get()
    assert [stage.kind for stage in repair.stages.all()] == ["seal", "fill"]
    assert repair.state == "finished"


def test_one_bar_stands_at_the_foot_of_a_phone(chromium, live_server, sill):
    with signed_in(chromium, live_server.url, make_crew()) as page:
        page.goto(f"/repairs/log/?member={sill.pk}")
        page.evaluate("window.scrollTo(0, 600)")
        bar = page.locator(".log .do").bounding_box()
        assert bar is not None
        assert bar["height"] <= 90
        assert bar["y"] + bar["height"] == page.viewport_size["height"]
        screens = page.get_by_role("button", name="Screens").bounding_box()
        assert screens is not None
        assert screens["y"] < 0, "the screens are at the head, out of the way"

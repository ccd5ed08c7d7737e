"""The log page in a real browser: few fields, few keys, and the same without a script."""

from __future__ import annotations

import io
import re
from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import expect

from materials.models import Product
from repairs.models import Draft, Repair
from tests.factories import (
    DefectFactory,
    ElevationFactory,
    MemberFactory,
    ProductFactory,
    SheetRevisionFactory,
    make_crew,
    make_kit_lot,
)
from tests.repairs.hands import Hands, signed_in, wait_until_saved

pytestmark = pytest.mark.browser
LONDON = ZoneInfo("Europe/London")


def yesterday(at: str = "%d%m%Y") -> str:
    return (datetime.now(LONDON) - timedelta(days=3)).strftime(at)


def today(at: str = "%d%m%Y") -> str:
    """Two days later: long after a cure of 24 hours, and past."""
    return (datetime.now(LONDON) - timedelta(days=1)).strftime(at)


@pytest.fixture
def crew(transactional_db):
    return make_crew(first_name="Robin", last_name="Larch")


@pytest.fixture
def sill(transactional_db):
    elevation = ElevationFactory(name="North")
    member = MemberFactory(mark="N-SILL-03", elevation=elevation, building=elevation.building)
    MemberFactory(mark="N-SILL-04", elevation=elevation, building=elevation.building)
    DefectFactory(member=member, zone="left")
    return member


@pytest.fixture
def stores(transactional_db):
    seal = ProductFactory(name="Invented Seal", kind=Product.Kind.LAMINATING_RESIN)
    SheetRevisionFactory(product=seal)
    putty = ProductFactory(name="Invented Putty", kind=Product.Kind.FILLER)
    SheetRevisionFactory(product=putty, weight_a=2, weight_b=1, pot_life_mass_g=None)
    make_kit_lot(seal, number="K-17")
    make_kit_lot(putty, number="P-4", a=1000, b=500)


def photograph() -> dict[str, object]:
    out = io.BytesIO()
    Image.effect_noise((900, 700), 60).convert("RGB").save(out, "JPEG")
    return {"name": "left end.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


def test_a_two_stage_repair_with_three_batches_takes_few_fields_and_keys(
    chromium, live_server, crew, sill, stores
):
    with signed_in(chromium, live_server.url, crew) as page:
        page.goto("/repairs/log/")
        hands = Hands(page)
        hands.type("find", "sill-03")
        page.get_by_role("button", name=re.compile("^N-SILL-03")).click()
        expect(page.get_by_text("Choose another member")).to_be_visible()

        hands.type("stage-0-on", yesterday())
        hands.choose("stage-0-batch-0-lot", "K-17")
        hands.type("stage-0-batch-0-amount", "100+33")
        hands.type("stage-0-batch-0-mixed", "0800")
        hands.type("stage-0-batch-0-used", "0840")

        hands.open(1)
        hands.type("stage-1-on", today())
        hands.type("stage-1-thickness", "20")
        hands.choose("stage-1-batch-0-lot", "P-4")
        hands.type("stage-1-batch-0-amount", "120+60")
        hands.type("stage-1-batch-0-mixed", "0900")
        hands.press("Repeat last batch", "#stage-1")
        hands.type("stage-1-batch-1-mixed", "0945")

        hands.type("labour-0-hours", "2.5")
        hands.press("Save this repair")
        wait_until_saved(page)
    repair = Repair.objects.get()
    assert [stage.kind for stage in repair.stages.all()] == ["seal", "fill"]
    assert [stage.batch_shares.count() for stage in repair.stages.all()] == [1, 2]
    # Counted, not timed: at two keys a second this is half of two minutes.
    assert hands.fields <= 15
    assert hands.keys + hands.taps <= 90


def test_the_page_fits_a_phone_and_passes_the_accessibility_rules(
    chromium, live_server, crew, sill, stores
):
    with signed_in(chromium, live_server.url, crew) as page:
        page.goto(f"/repairs/log/?member={sill.pk}")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        for fold in page.locator("details:not([open]) > summary").all():
            if fold.is_visible():
                fold.click()
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        box = page.get_by_role("button", name="Save this repair").last.bounding_box()
        assert box is not None
        assert box["height"] >= 44
        results = Axe().run(page)
        assert results.violations_count == 0, results.generate_report()


def test_enter_in_the_search_finds_and_saves_nothing(chromium, live_server, crew, sill, stores):
    with signed_in(chromium, live_server.url, crew, java_script_enabled=False) as page:
        page.goto("/repairs/log/")
        page.locator("#id_find").fill("sill-03")
        page.locator("#id_find").press("Enter")
        expect(page.get_by_role("button", name=re.compile("^N-SILL-03"))).to_be_visible()
        expect(page.get_by_text("Nothing is saved yet")).to_have_count(0)


def test_the_whole_flow_works_without_a_script(chromium, live_server, crew, sill, stores):
    with signed_in(chromium, live_server.url, crew, java_script_enabled=False) as page:
        page.goto("/repairs/log/")
        page.locator("#id_find").fill("sill")
        page.get_by_role("button", name="Find", exact=True).click()
        page.get_by_role("button", name=re.compile("^N-SILL-03")).click()
        hands = Hands(page)

        page.locator("[name='stage-0-on']").fill(yesterday("%Y-%m-%d"))
        hands.choose("stage-0-batch-0-lot", "K-17")
        page.locator("[name='stage-0-batch-0-amount']").fill("100 g + 33 g")
        page.locator("[name='stage-0-batch-0-mixed']").fill("08:00")
        hands.press("Repeat last batch", "#stage-0")
        expect(page.locator("[name='stage-0-batch-1-amount']")).to_have_value("100 g + 33 g")
        page.locator("[name='stage-0-batch-1-amount']").fill("100 g + 60 g")
        hands.press("Add a stage")
        hands.choose("stage-3-kind", "Shape")
        page.locator("[name='stage-3-on']").fill(today("%Y-%m-%d"))
        page.locator("[name='stage-3-at']").fill("15:00")

        page.locator("[name='photographs-after']").set_input_files([photograph()])
        page.locator("[name='captions-after']").fill("Left end, shaped")
        hands.press("Save this repair")
        expect(page.get_by_text("remark wants a reason")).to_be_visible()
        assert not Repair.objects.exists()
        expect(page.locator("[name='stage-0-batch-1-amount']")).to_have_value("100 g + 60 g")
        picture = page.locator(".log-photos img").get_attribute("src")
        assert page.request.get(picture).headers["content-type"] == "image/jpeg"
        expect(page.locator(".log-photos input[type=text]")).to_have_value("Left end, shaped")

        page.locator("[name^='reason-']").fill("The scale was read wrongly; tested hard since")
        hands.press("Save this repair")
        wait_until_saved(page)
    repair = Repair.objects.get()
    assert repair.photographs.get().caption == "Left end, shaped"
    assert repair.remarks.filter(code="ratio-off").exists()
    assert not Draft.objects.exists()


def test_a_draft_is_kept_and_finished_later(chromium, live_server, crew, sill, stores):
    with signed_in(chromium, live_server.url, crew) as page:
        page.goto(f"/repairs/log/?member={sill.pk}")
        page.locator("[name='stage-0-batch-0-amount']").fill("1/2 kit")
        page.locator("[name='photographs-before']").set_input_files([photograph()])
        page.get_by_role("button", name="Keep as a draft").click()
        expect(page.get_by_text("Kept as a draft")).to_be_visible()
        page.goto(Draft.objects.get().get_absolute_url())
        expect(page.locator("[name='stage-0-batch-0-amount']")).to_have_value("1/2 kit")
        Hands(page).choose("stage-0-batch-0-lot", "K-17")
        page.locator("[name='stage-0-batch-0-mixed']").fill("00:01")
        page.get_by_role("button", name="Save this repair").last.click()
        wait_until_saved(page)
    repair = Repair.objects.get()
    assert repair.photographs.get().moment == "before"
    batch = repair.stages.get().batch_shares.get().batch
    assert [part.amount for part in batch.parts.all()] == [Decimal(500), Decimal(165)]


def test_another_kind_of_repair_sets_out_its_own_stages(chromium, live_server, crew, sill, stores):
    with signed_in(chromium, live_server.url, crew) as page:
        page.goto(f"/repairs/log/?member={sill.pk}")
        page.get_by_text("Repaint", exact=True).click()
        expect(page.locator("[data-title]:visible")).to_have_text(["Prime", "Paint"])


def test_the_clock_is_set_by_one_tap(chromium, live_server, crew, sill, stores):
    with signed_in(chromium, live_server.url, crew) as page:
        page.goto(f"/repairs/log/?member={sill.pk}")
        field = page.locator("[name='stage-0-batch-0-mixed']")
        page.locator("#stage-0-batch-0 .log-now").first.click()
        now = datetime.now(LONDON)
        earlier = now - timedelta(minutes=1)
        assert field.input_value() in {f"{now:%H:%M}", f"{earlier:%H:%M}"}

"""A round walked with a thumb, and its pages under the rules of accessibility."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import Page

from repairs.models import Inspection, Round
from tests import factories as make
from tests.repairs.walking import face, look_due, mill, round_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def log_in(page: Page) -> None:
    make.make_crew(username="larch", first_name="Robin", last_name="Larch")
    page.goto("/log-in/")
    page.fill("[name=username]", "larch")
    page.fill("[name=password]", make.PASSWORD)
    page.press("[name=password]", "Enter")
    page.wait_for_url("**/")


def round_of_four(on: date) -> Round:
    side = face(mill(), "South", 180, "tower")
    dues = [look_due(side, f"S-SILL-0{n}", due_on=on) for n in (1, 2, 3, 4)]
    make.InspectionFactory(
        member=dues[0].member, looked_on=on - timedelta(days=300), flaking=Decimal(1),
        cracking=Decimal(0), result="watch",
    )  # fmt: skip
    return round_of(*dues, walk_on=on)


def test_three_stops_are_walked_with_a_thumb_and_the_rest_another_day(phone_page: Page) -> None:
    on = timezone.localdate()
    round = round_of_four(on)
    log_in(phone_page)
    phone_page.goto(round.get_absolute_url())
    phone_page.get_by_role("link", name="Walk it: S-SILL-01").tap()
    # As before, in one tap.
    phone_page.get_by_role("button", name="As before: watch – flaking 1, cracking 0").tap()
    # A fresh look with ratings, its words and its half classes.
    phone_page.get_by_role("heading", name="S-SILL-02").wait_for()
    phone_page.get_by_text("Sound", exact=True).first.tap()
    phone_page.locator("#id_flaking label").nth(2).tap()
    phone_page.get_by_text("Half classes").nth(1).tap()
    phone_page.locator("input[name=cracking][value='1.5']").locator("xpath=..").tap()
    phone_page.get_by_label("Notes").fill("Edge tight all round")
    phone_page.get_by_role("button", name="Save and go to the next: S-SILL-03 (3 of 4)").tap()
    # One that cannot be reached.
    phone_page.get_by_role("heading", name="S-SILL-03").wait_for()
    phone_page.get_by_text("Could not be reached").first.tap()
    phone_page.get_by_role("button", name="Save and go to the next: S-SILL-04 (4 of 4)").tap()
    phone_page.get_by_role("heading", name="S-SILL-04").wait_for()
    # Stopped here: what was done is kept, and the walk goes on where it stood.
    phone_page.goto(round.get_absolute_url())
    phone_page.get_by_text("2 of 4 looked at; 1 could not be reached; next: S-SILL-04").wait_for()
    phone_page.get_by_role("link", name="Walk it: S-SILL-04").tap()
    phone_page.get_by_role("heading", name="S-SILL-04").wait_for()
    looks = {look.member.mark: look for look in Inspection.objects.filter(looked_on=on)}
    assert [looks[f"S-SILL-0{n}"].result for n in (1, 2, 3)] == ["watch", "sound", "not_reached"]
    assert looks["S-SILL-01"].notes.startswith("As before")
    assert looks["S-SILL-02"].flaking == Decimal(2)
    assert looks["S-SILL-02"].cracking == Decimal("1.5")
    assert looks["S-SILL-02"].looked_by is not None
    assert [stop.inspection is not None for stop in round.stops.all()] == [True, True, True, False]


def test_what_is_tapped_on_a_walk_is_large_enough_for_a_thumb(phone_page: Page) -> None:
    round = round_of_four(timezone.localdate())
    log_in(phone_page)
    phone_page.goto(f"{round.get_absolute_url()}walk/")
    tapped = phone_page.locator(
        ".results .choices label, .rating-button:visible, .as-before .button, .look .do .button, "
        ".rating summary, .more > summary"
    )
    assert tapped.count() > 30
    for box in (tapped.nth(n).bounding_box() for n in range(tapped.count())):
        assert box is not None
        assert box["height"] >= 48
        assert box["width"] >= 48


def test_the_answers_stand_above_the_bar_without_a_scroll(phone_page: Page) -> None:
    phone_page.set_viewport_size({"width": 390, "height": 844})
    round = round_of_four(timezone.localdate())
    log_in(phone_page)
    for stop in list(round.stops.all())[:2]:
        phone_page.goto(f"{round.get_absolute_url()}stops/{stop.pk}/")
        bar = phone_page.locator(".look .do").bounding_box()
        answers = phone_page.locator(".results .choices label")
        assert answers.count() == 4
        # Beside 'as before', the first two of the four.
        lowest = answers.nth(1 if phone_page.locator(".as-before").count() else 3).bounding_box()
        assert bar is not None
        assert lowest is not None
        assert lowest["y"] + lowest["height"] <= bar["y"]


def addresses(round: Round) -> list[str]:
    stop = round.stops.all()[0]
    at = stop.due.member.building.property_id
    own = round.get_absolute_url()
    return [
        "/rounds/", f"/rounds/new/?property={at}", own, f"{own}edit/", f"{own}end/",
        f"{own}stops/{stop.pk}/",
    ]  # fmt: skip


def test_no_page_of_a_round_scrolls_sideways_on_a_phone(phone_page: Page) -> None:
    round = round_of_four(timezone.localdate())
    passed_by = "The gate to the yard was locked and nobody answered the bell"
    round.stops.filter(position__gt=2).update(left_out_because=passed_by)
    log_in(phone_page)
    for address in addresses(round):
        phone_page.goto(address)
        assert phone_page.evaluate("document.documentElement.scrollWidth") <= 390, address


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_pages_of_a_round_pass_the_accessibility_rules(browser_page: Page, scheme: str) -> None:
    round = round_of_four(timezone.localdate())
    log_in(browser_page)
    browser_page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    for address in addresses(round):
        browser_page.goto(address)
        results = Axe().run(browser_page)
        assert results.violations_count == 0, f"{address}: {results.generate_report()}"


def test_a_whole_group_is_ticked_at_once(browser_page: Page) -> None:
    round_of_four(timezone.localdate())
    Round.objects.all().delete()
    log_in(browser_page)
    browser_page.goto("/rounds/new/")
    browser_page.get_by_text("0 ticked").wait_for()
    browser_page.get_by_role("button", name="Tick all of these").click()
    browser_page.get_by_text("4 ticked").wait_for()
    browser_page.get_by_label("Name of the round").fill("South sills")
    browser_page.get_by_role("button", name="Save this round").click()
    browser_page.get_by_text("0 of 4 looked at").wait_for()
    assert Round.objects.get().stops.count() == 4

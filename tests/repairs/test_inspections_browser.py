"""Recording a look with a thumb, and pages that never scroll sideways."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page

from repairs.models import DueDate, DueRule, Inspection
from tests import factories as make

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def due_today() -> DueDate:
    now = timezone.now()
    repair = make.RepairFactory(
        member=make.MemberFactory(mark="N-SILL-03"), began_at=now - timedelta(days=31)
    )
    due: DueDate = make.DueDateFactory(
        member=repair.member, repair=repair, due_on=now.date(),
        counted_from=now.date() - timedelta(days=31), rule=DueRule.objects.get(code="repair-look"),
    )  # fmt: skip
    return due


def log_in(page: Page) -> None:
    make.make_manager(username="ash")
    page.goto("/log-in/")
    page.fill("[name=username]", "ash")
    page.fill("[name=password]", make.PASSWORD)
    page.press("[name=password]", "Enter")
    page.wait_for_url("**/")


def test_a_look_takes_three_taps_on_a_phone(phone_page: Page) -> None:
    due = due_today()
    log_in(phone_page)
    phone_page.goto(due.get_absolute_url())
    phone_page.get_by_role("link", name="Record this look").tap()
    phone_page.get_by_text("Sound", exact=True).first.tap()
    phone_page.get_by_role("button", name="Save this look").tap()
    phone_page.get_by_text("Saved: N-SILL-03, sound.").wait_for()
    assert Inspection.objects.get().due == due


def test_no_page_scrolls_sideways_on_a_phone(phone_page: Page) -> None:
    due = due_today()
    look = make.InspectionFactory(member=due.member, repair=due.repair)
    log_in(phone_page)
    for address in (
        "/", "/inspections/", "/inspections/?state=done", "/inspections/calendar/",
        f"/inspections/new/?due={due.pk}", look.get_absolute_url(), due.get_absolute_url(),
        f"/due/{due.pk}/edit/", "/rules/", f"/members/{due.member.pk}/interval/",
    ):  # fmt: skip
        phone_page.goto(address)
        assert phone_page.evaluate("document.documentElement.scrollWidth") <= 390, address

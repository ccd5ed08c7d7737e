"""One form sent twice, or by two people at the same moment: one row, and nobody's is lost."""

from __future__ import annotations

from typing import Any

import pytest
import time_machine
from django.contrib.auth.models import User
from django.test import Client

from properties.models import Elevation
from repairs.models import DueRule, MemberInterval, WorkMove, WorkRate
from tests import factories as make
from tests.at_once import at_once, sending
from tests.repairs.walking import NOW, face, look_due, mill, new_round, text

ANSWERED = {200, 302}
RULE = {
    "kind": "member_look", "then_months": "7", "window_days": "5", "words": "Doors by the weir",
    "source": "common practice, no source", "in_force": "on",
}  # fmt: skip


@pytest.fixture(autouse=True)
def now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


def move_of(side: Elevation, **changes: str) -> dict[str, Any]:
    return {
        "elevation": side.pk, "kind": "repaint", "first_year": "2028", "last_year": "2029",
        "to_year": "2029", "reason": "one scaffold", **changes,
    }  # fmt: skip


def rates(**typed: str) -> dict[str, str]:
    sent = {
        f"{what}-per": "area" if what in WorkRate.ACCESS else "member" for what in WorkRate.What
    }
    return {**sent, **{name.replace("_", "-"): value for name, value in typed.items()}}


# At the same moment


@pytest.mark.django_db(transaction=True)
def test_work_moved_by_three_requests_at_once_is_moved_once() -> None:
    side, by = face(mill(), "North"), make.make_manager()
    path = f"/properties/{side.building.property_id}/ahead/move/"
    sent = at_once(*[sending(by, path, move_of(side)) for _ in range(3)])
    assert {answer.status_code for answer in sent} == {302}
    assert WorkMove.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_intervals_of_one_member_typed_at_once_are_one() -> None:
    member, by = look_due(face(mill(), "North"), "N-1").member, make.make_manager()
    path = f"/members/{member.pk}/interval/"
    typed = {"kind": "member_look", "reason": "driving rain"}
    sent = at_once(*[sending(by, path, typed | {"months": str(n)}) for n in (5, 7, 9)])
    assert {answer.status_code for answer in sent} == {302}
    assert MemberInterval.objects.get().months in {5, 7, 9}


@pytest.mark.django_db(transaction=True)
def test_a_new_rule_sent_by_three_requests_at_once_is_one_rule() -> None:
    by = make.make_manager()
    make.DueRuleFactory(kind="member_look")
    sent = at_once(*[sending(by, "/rules/new/", RULE) for _ in range(3)])
    assert sorted(answer.status_code for answer in sent) == [200, 200, 302]
    assert DueRule.objects.filter(words=RULE["words"]).count() == 1


@pytest.mark.django_db(transaction=True)
def test_rates_typed_by_three_people_at_once_are_kept_of_one_whole() -> None:
    of = make.PropertyFactory()
    people = [make.make_manager() for _ in range(3)]

    def typed(likely: str) -> dict[str, str]:
        return rates(look_likely=likely, look_source="q", repaint_likely=likely, repaint_source="q")

    sent = at_once(
        *[
            sending(by, f"/properties/{of.pk}/rates/", typed(likely))
            for by, likely in zip(people, ("10", "20", "30"), strict=True)
        ]
    )
    assert {answer.status_code for answer in sent} <= ANSWERED
    kept = set(WorkRate.objects.values_list("likely_minor", flat=True))
    assert len(kept) == 1
    assert WorkRate.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_a_date_called_off_and_looked_at_at_once_is_one_of_the_two_and_no_look_is_lost() -> None:
    due, by = look_due(face(mill(), "North"), "N-1"), make.make_manager()
    sent = at_once(
        sending(by, f"/due/{due.pk}/edit/", {"act": "call-off", "off_reason": "to be sold"}),
        sending(make.make_crew(), f"/inspections/new/?member={due.member_id}", {
            "key": "3f0f9f0e-57a5-4bd1-9a27-1f26d7b5c001", "looked_on": NOW.date().isoformat(),
            "looked_by_name": "Robin Larch", "occasion": "routine", "zone": "whole",
            "result": "sound", "due": due.pk,
        }),
    )  # fmt: skip
    assert {answer.status_code for answer in sent} <= ANSWERED
    due.refresh_from_db()
    assert (due.done_on is None) != (due.cancelled_on is None)
    if sent[1].status_code == 302:
        assert due.member.inspections.count() == 1
    else:
        assert "no longer planned" in text(sent[1])


# One after the other


@pytest.fixture
def manager(client: Client, db: None) -> Client:
    client.force_login(make.make_manager())
    return client


def test_two_taps_on_one_button_move_work_once_and_say_that_it_is_saved(manager: Client) -> None:
    side = face(mill(), "North")
    path = f"/properties/{side.building.property_id}/ahead/move/"
    for _ in range(2):
        assert "Saved: Repaints of 2028 to 2029" in text(
            manager.post(path, move_of(side), follow=True)
        )
    assert WorkMove.objects.count() == 1
    other = manager.post(path, move_of(side, reason="another reason"))
    assert "These years are moved already" in text(other)


def test_a_move_that_somebody_else_made_is_not_said_to_be_ones_own(manager: Client) -> None:
    side = face(mill(), "North")
    path = f"/properties/{side.building.property_id}/ahead/move/"
    manager.post(path, move_of(side))
    WorkMove.objects.update(made_by=make.make_manager())
    assert "These years are moved already" in text(manager.post(path, move_of(side)))


def test_one_rule_sent_twice_is_one_rule(manager: Client) -> None:
    assert manager.post("/rules/new/", RULE).status_code == 302
    assert "was saved before" in text(manager.post("/rules/new/", RULE))
    assert manager.post("/rules/new/", {**RULE, "member_kind": "door"}).status_code == 302
    assert DueRule.objects.filter(words=RULE["words"]).count() == 2


def as_shown(client: Client, path: str) -> dict[str, str]:
    """What the page of rates would send with nothing typed in it."""
    rows = client.get(path).context["rows"]
    fields = [field for row in rows for field in row["form"]]
    return {field.html_name: str(field.value() or "") for field in fields} | {
        name: value for name, value in rates().items() if not name.endswith("-shown")
    }


def test_a_rate_typed_by_another_meanwhile_is_neither_dropped_nor_overwritten(
    manager: Client,
) -> None:
    path = f"/properties/{make.PropertyFactory(currency='GBP').pk}/rates/"
    mine, theirs = as_shown(manager, path), as_shown(manager, path)
    manager.post(path, {**theirs, "repaint-likely": "90", "repaint-source": "Quotation"})
    # A row in which I typed nothing leaves theirs as it is.
    manager.post(path, {**mine, "look-likely": "12", "look-source": "Letter"})
    assert dict(WorkRate.objects.values_list("what", "likely_minor")) == {
        "look": 1200, "repaint": 9000,
    }  # fmt: skip
    # One in which I did is told to me, and kept when I send it once more.
    sent = {**mine, "repaint-likely": "70", "repaint-source": "Mine"}
    told = manager.post(path, sent)
    assert "it is now GBP 90.00 for each member" in text(told)
    assert WorkRate.objects.get(what="repaint").likely_minor == 9000
    row = next(row["form"] for row in told.context["rows"] if row["form"].what == "repaint")
    manager.post(path, {**sent, "repaint-shown": row["shown"].value()})
    assert WorkRate.objects.get(what="repaint").likely_minor == 7000


def test_the_page_of_a_rate_tells_what_it_showed(manager: Client) -> None:
    path = f"/properties/{make.PropertyFactory().pk}/rates/"
    page = manager.get(path).content.decode()
    assert page.count('-shown" value="') == len(WorkRate.What)


@pytest.mark.django_db
def test_who_goes_back_and_ticks_otherwise_is_told_that_the_round_stands(client: Client) -> None:
    by: User = make.make_crew()
    client.force_login(by)
    side = face(mill(), "North")
    one, other = look_due(side, "N-1"), look_due(side, "N-2")
    sent = new_round(one)
    assert "Planned: " in text(client.post("/rounds/new/", sent, follow=True))
    again = client.post("/rounds/new/", {**sent, "due": [one.pk, other.pk]}, follow=True)
    assert "was sent before" in text(again)
    assert again.context["round"].stops.count() == 1

"""Moving work to another year, and dropping a move."""

from __future__ import annotations

import html
import re
from datetime import date

import pytest
from django.urls import reverse
from time_machine import travel

from repairs.models import WorkMove
from repairs.models.due_dates import DueKind
from tests import factories as make
from tests.repairs.ahead.places import ON, due, face_of, pdf_text, price, text, yard

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


@pytest.fixture
def today():
    with travel(ON, tick=False):
        yield


@pytest.fixture
def manager(client):
    client.force_login(make.make_manager(first_name="Ash", last_name="Rowan"))
    return client


def form_of(of) -> str:
    return f"/properties/{of.pk}/ahead/move/"


def whole(of, **changes) -> dict[str, object]:
    typed = {
        "elevation": face_of(of).pk, "kind": "repaint", "first_year": "2028", "last_year": "2029",
        "to_year": "2029", "reason": "One scaffold for all of it",
    }  # fmt: skip
    return {name: value for name, value in {**typed, **changes}.items() if value is not None}


def test_an_offer_says_what_it_saves_and_fills_the_form(manager):
    of = yard()
    price(of)
    page = manager.get(f"/properties/{of.pk}/ahead/?years=15")
    assert "GBP 1,000.00" in text(page).partition("Work that could share one access")[2]
    link = html.unescape(re.search(r'href="([^"]+)">Do it all in 2028', page.content.decode())[1])
    form = manager.get(link).context["form"]
    filled = {name: str(form[name].value()) for name in whole(of)}
    assert filled == {
        "elevation": str(face_of(of).pk), "kind": "both", "first_year": "2028",
        "last_year": "2029", "to_year": "2028", "reason": "One access for all of it",
    }  # fmt: skip
    saved = manager.post(link, filled)
    assert saved["Location"] == f"/properties/{of.pk}/ahead/?years=15#moves"
    assert WorkMove.objects.get().made_by.first_name == "Ash"


def test_an_offer_that_puts_work_off_says_what_that_risks_before_it_is_taken(manager):
    """One repaint of 2028 and two of 2029: the one waits for the two."""
    of = yard()
    price(of)
    third = make.MemberFactory(
        building=face_of(of).building, elevation=face_of(of), mark="N-SILL-03"
    )
    due(third, DueKind.REPAINT, date(2029, 7, 4))
    for answer in (f"/properties/{of.pk}/ahead/", f"/properties/{of.pk}/ahead.pdf"):
        page = manager.get(answer)
        told = pdf_text(page) if answer.endswith("pdf") else text(page)
        offered = told.partition("Work that could share one access")[2]
        assert "Put off by it, and what that risks" in offered
        assert "N-SILL-01 Repaint 2028 2029 How far its coating will have gone" in offered


def test_a_saved_move_lowers_the_total_and_tells_the_risk(manager):
    of = yard()
    price(of)
    manager.post(form_of(of), whole(of))
    page = manager.get(f"/properties/{of.pk}/ahead/")
    assert page.context["shown"].outlook.today.likely == 121_000
    told = text(page)
    assert "Repaints of 2028 to 2029 at North elevation, Granary, Larkfield Yard in 2029" in told
    assert "Why: One scaffold for all of it" in told
    assert "Put off by it, and what that risks" in told
    assert "N-SILL-01 Repaint 2028 2029" in told


def test_a_dropped_move_leaves_its_history(manager):
    of = yard()
    price(of)
    move = make.WorkMoveFactory(elevation=face_of(of))
    answer = manager.post(reverse("work-move-drop", args=[move.pk]) + "?years=7", follow=True)
    assert answer.redirect_chain == [(f"/properties/{of.pk}/ahead/?years=7", 302)]
    assert "Dropped: Repaints of 2028 to 2030" in text(answer)
    assert not WorkMove.objects.exists()
    log = text(manager.get(reverse("change-log", args=["property", of.pk])))
    assert "Work move removed by Ash Rowan" in log


def test_one_member_is_moved_by_its_mark(manager):
    of = yard()
    manager.post(form_of(of), whole(of, elevation="", member="n-sill-01", last_year="2028"))
    assert WorkMove.objects.get().member.mark == "N-SILL-01"


def test_a_link_of_a_member_fills_its_mark(manager):
    of = yard()
    member = face_of(of).members.first()
    page = manager.get(form_of(of), {"member": member.pk})
    assert f'value="{member.mark}"' in page.content.decode()
    elsewhere = make.MemberFactory()
    assert elsewhere.mark not in text(manager.get(form_of(of), {"member": elsewhere.pk}))


def test_a_mark_of_two_buildings_asks_which(manager):
    of = yard()
    other = make.BuildingFactory(property=of, name="Barn")
    twin = make.MemberFactory(building=other, mark="N-SILL-01")
    answer = manager.post(form_of(of), whole(of, elevation="", member="N-SILL-01"))
    assert "Several have this mark. Type" in text(answer)
    assert "Barn: N-SILL-01" in text(answer)
    manager.post(form_of(of), whole(of, elevation="", member="barn: N-SILL-01"))
    assert WorkMove.objects.get().member == twin


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"elevation": ""}, "Choose an elevation, or type the mark of one member."),
        ({"member": "N-SILL-01"}, "An elevation or a member, one of the two."),
        ({"elevation": "", "member": "NOWHERE"}, "No member in place here has this mark."),
        ({"elevation": "", "member": "N-SILL\0-01"}, "Null characters are not allowed."),
        ({"elevation": "", "member": "N" * 10_000}, "has at most 300"),
        ({"elevation": "x"}, "Choose one of these elevations."),
        ({"first_year": "2025"}, "Type a year from 2026 to 2056."),
        ({"to_year": "2057"}, "Type a year from 2026 to 2056."),
        ({"to_year": "soon"}, "Type a year such as 2031."),
        ({"first_year": "-5"}, "Type a year"),
        ({"last_year": "1e9"}, "Type a year such as 2031."),
        ({"last_year": "9" * 400}, "Type a year"),
        ({"last_year": "2027"}, "The last year is not before the first."),
        ({"last_year": "2028", "to_year": "2028"}, "the year in which it falls already"),
        ({"reason": " "}, "Say why it is moved."),
        ({"kind": "looks"}, "kind"),
        ({"kind": None}, "kind"),
    ],
)  # fmt: skip
def test_what_cannot_be_moved_is_told_and_kept(manager, changes, said):
    of = yard()
    answer = manager.post(form_of(of), whole(of, **changes))
    assert answer.status_code == 200
    assert said in text(answer) or answer.context["form"].errors.keys() & {said}
    assert answer.context["form"].data.get("reason") == (changes.get("reason") or
                                                          "One scaffold for all of it")  # fmt: skip
    assert not WorkMove.objects.exists()


@pytest.mark.parametrize(
    ("kind", "refused"), [("repaint", True), ("both", True), ("repair", False)]
)
def test_the_same_work_is_not_moved_twice(manager, kind, refused):
    of = yard()
    make.WorkMoveFactory(elevation=face_of(of), first_year=2029, last_year=2031, to_year=2032)
    answer = manager.post(form_of(of), whole(of, kind=kind))
    assert WorkMove.objects.count() == (1 if refused else 2)
    if refused:
        assert "These years are moved already" in text(answer)


def test_an_elevation_of_another_property_is_not_taken(manager):
    of, other = yard(), yard(name="Other")
    manager.post(form_of(of), whole(of, elevation=face_of(other).pk))
    assert not WorkMove.objects.exists()


def test_what_is_moved_changes_no_due_date(manager):
    of = yard()
    member = face_of(of).members.first()
    standing = due(member, DueKind.COATING_LOOK, date(2027, 6, 1))
    before = list(member.due_dates.order_by("pk").values())
    manager.post(form_of(of), whole(of))
    assert list(member.due_dates.order_by("pk").values()) == before
    standing.refresh_from_db()
    assert standing.due_on == date(2027, 6, 1)


@pytest.mark.parametrize("make_person", [make.make_crew, make.make_viewer])
def test_only_managers_move_work(client, make_person):
    of = yard()
    move = make.WorkMoveFactory(elevation=face_of(of), first_year=2033, last_year=2033)
    person = make_person(of) if make_person is make.make_viewer else make_person()
    client.force_login(person)
    assert client.post(form_of(of), whole(of)).status_code == 403
    assert client.post(reverse("work-move-drop", args=[move.pk])).status_code == 403
    assert list(WorkMove.objects.all()) == [move]

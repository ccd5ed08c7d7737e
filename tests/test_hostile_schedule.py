"""The hostile visitor at the rules, the rounds and the years ahead."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from tests import factories as make
from tests.addresses import MANAGER, VIEWER
from tests.test_access import as_role
from tests.test_hostile import formulas
from tests.two_properties import HIDDEN, HIDDEN_PK, World, make_world

pytestmark = pytest.mark.django_db

NONSENSE: tuple[Any, ...] = (
    "-1", "9" * 20, "9" * 5000, "a\0b", "²", "NaN", "x" * 10_000, "<script>alert(1)</script>",
    "\u202eغ", "0001-01-01", "9999-12-31", "=HYPERLINK(1)", ["1", "2", "abc"],
)  # fmt: skip
ANSWERED = {200, 302, 400, 404}


class Fields(HTMLParser):
    """The forms of a page that are sent: each with the fields in it and what stands in them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[dict[str, list[str]]] = []
        self.inside = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        facts = dict(attrs)
        if tag == "form":
            self.inside = facts.get("method") == "post" and facts.get("action") != "/log-out/"
            self.forms += [{}] if self.inside else []
        name = facts.get("name")
        if not self.inside or not name or tag not in {"input", "select", "textarea", "button"}:
            return
        values = self.forms[-1].setdefault(name, [])
        ticked = facts.get("type") not in {"checkbox", "radio"} or "checked" in facts
        if ticked and facts.get("type") != "file":
            values.append(facts.get("value") or "")


def pages(world: World) -> Iterator[str]:
    rows = world.of(world.given)
    for name, *about in (
        ("rule-new",), ("rule-edit", "rule"), ("rule-dates",), ("member-interval", "member"),
        ("due-new", "member"), ("due-edit", "due"), ("round-edit", "round"),
        ("round-end", "round"), ("round-stop", "round", "stop"), ("work-move-new", "property"),
        ("work-rates", "property"),
    ):  # fmt: skip
        yield reverse(name, args=[rows[each].pk for each in about])
    yield f"{reverse('round-new')}?property={rows['property'].pk}&until=2099-01-01"
    yield f"{reverse('round-new')}?round={rows['round'].pk}&until=2099-01-01"


def test_no_field_of_these_pages_can_break_them() -> None:
    world = make_world()
    make.DueDateFactory(member=world.given.rows["member"], kind="member_look")
    client, tried = as_role(world, MANAGER), 0
    for path in pages(world):
        for fields in Fields(client.get(path).content.decode()).forms:
            for name in fields:
                for value in ("a\0b", ["9" * 5000, "abc"]):
                    key = {"key": str(uuid4())} if "key" in fields else {}
                    status = client.post(path, {**fields, **key, name: value}).status_code
                    assert status in ANSWERED, (path, name, repr(value)[:20])
                    tried += 1
    assert tried > 200


def test_all_fields_at_once_cannot_break_them_either() -> None:
    world = make_world()
    client = as_role(world, MANAGER)
    for path in pages(world):
        for fields in Fields(client.get(path).content.decode()).forms:
            for value in NONSENSE:
                status = client.post(path, dict.fromkeys(fields, value)).status_code
                assert status in ANSWERED, (path, repr(value)[:20])


def test_rows_of_another_property_are_taken_into_no_form(client: Client) -> None:
    """A manager sees both; what does not belong together is refused all the same."""
    world = make_world()
    client.force_login(world.manager)
    mine, theirs = world.given.rows, world.hidden.rows
    move = {
        "elevation": theirs["elevation"].pk, "kind": "repaint", "first_year": "2030",
        "last_year": "2031", "to_year": "2031", "reason": "x",
    }  # fmt: skip
    client.post(reverse("work-move-new", args=[mine["property"].pk]), move)
    by_mark = {**move, "elevation": "", "member": theirs["member"].mark}
    client.post(reverse("work-move-new", args=[mine["property"].pk]), by_mark)
    assert mine["property"].work_moves.count() == 1
    edit = reverse("round-edit", args=[mine["round"].pk])
    stop = theirs["stop"].pk
    client.post(edit, {"leave-out": "1", "stop": [stop], "left_out_because": "x"})
    assert client.post(edit, {"up": stop}).status_code == 404
    assert client.post(edit, {"put-back": stop}).status_code == 404
    wrong = reverse("round-stop", args=[mine["round"].pk, stop])
    assert client.post(wrong, {"act": "leave-out", "left_out_because": "x"}).status_code == 404
    theirs["stop"].refresh_from_db()
    assert theirs["stop"].left_out_because == ""


def test_a_viewer_asks_for_another_property_by_every_parameter_in_vain() -> None:
    world = make_world()
    client = as_role(world, VIEWER)
    names = (
        "property", "owner", "building", "not_building", "elevation", "not_elevation", "member",
        "not_member", "repair", "q", "round", "place", "due", "year",
    )  # fmt: skip
    of = world.given.property.pk
    for path in (
        "/ahead/", f"/properties/{of}/ahead.csv", f"/properties/{of}/rates/", "/costs/",
        "/costs/lines/", "/rules/", "/inspections/", "/inspections/calendar/",
    ):  # fmt: skip
        for name in names:
            value = HIDDEN[:4] if name == "q" else HIDDEN_PK
            page = client.get(path, {name: value}).content.decode()
            assert HIDDEN not in page, (path, name)


def test_no_filter_leads_a_viewer_to_what_an_earlier_owner_spent() -> None:
    of = make.PropertyFactory()
    make.OwnershipFactory(property=of, from_on=date(2010, 1, 1), to_on=date(2020, 1, 1))
    make.OwnershipFactory(property=of, from_on=date(2020, 1, 1))
    member = make.MemberFactory(building__property=of)
    repair = make.RepairFactory(member=member)
    facts = {"building": member.building, "member": member, "repair": repair}
    make.CostLineFactory(**facts, worked_on=date(2015, 5, 4), amount_minor=98_765)
    make.CostLineFactory(**facts, worked_on=date(2021, 5, 4), amount_minor=12_345)
    client = Client()
    client.force_login(make.make_viewer(of))
    for query in (
        {}, {"not_building": "1"}, {"not_member": "1"}, {"not_elevation": "1,none"},
        {"repair": f"{repair.pk},1,2"}, {"member": f"{member.pk},none"}, {"year": "2015"},
        {"first": "2000-01-01"}, {"building": member.building_id}, {"tax": "none"},
        {"cause": "none"}, {"repair_kind": repair.kind}, {"member_kind": member.kind},
    ):  # fmt: skip
        for export in ("", "csv"):
            answer = client.get("/costs/lines/", {**query, "_export": export})
            page = answer.content.decode().replace(",", "")
            assert answer.status_code == 200
            assert "987.65" not in page, query
            assert "1111.10" not in page, query


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\t=", "\r="])
def test_no_cell_of_the_years_ahead_is_a_formula(begins: str) -> None:
    evil = f"{begins}HYPERLINK(1)"
    of = make.PropertyFactory(name=evil)
    face = make.ElevationFactory(building__property=of, building__name=evil, name=evil)
    member = make.MemberFactory(building=face.building, elevation=face, mark=f"{begins}1")
    make.DueDateFactory(member=member, kind="repaint", due_on="2029-05-04", set_because=evil)
    make.WorkRateFactory(property=of, source=evil)
    make.WorkMoveFactory(elevation=face, reason=evil)
    client = Client()
    client.force_login(make.make_manager())
    for path in (f"/properties/{of.pk}/ahead", "/ahead"):
        text = client.get(f"{path}.csv").content.decode("utf-8-sig")
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
        assert cells
        assert not [cell for cell in cells if cell.startswith(begins) and "(1" in cell]
        assert not formulas(client.get(f"{path}.xlsx").content)

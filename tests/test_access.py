"""Who may open what: every address of the URLconf, tried as each kind of visitor."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from openpyxl import load_workbook
from pypdf import PdfReader

from tests.addresses import (
    ADDRESSES,
    ALL,
    CREW,
    EXPORTS,
    FOR_STRANGERS,
    LED_ON,
    MANAGER,
    NOT_FOUND,
    ONLY_POST,
    REFUSED,
    SEEN,
    VIEWER,
    Address,
)
from tests.two_properties import HIDDEN, HIDDEN_PK, Side, World, all_rows, make_world

pytestmark = pytest.mark.django_db


def patterns(resolver: Any = None) -> Iterator[URLPattern]:
    """Every pattern of the URLconf, however deep."""
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            yield from patterns(entry)
        else:
            yield entry


def every_address() -> Iterator[tuple[str, Address]]:
    for name, found in ADDRESSES.items():
        for address in found if isinstance(found, tuple) else (found,):
            yield name, address


@dataclass(frozen=True)
class Visit:
    """One address with its arguments filled in."""

    name: str
    path: str
    address: Address

    def paths(self) -> Iterable[str]:
        return (f"{self.path}?{query}" if query else self.path for query in self.address.queries)

    def may(self, role: str) -> bool:
        return role in self.address.who


def visits(world: World, side: Side) -> Iterator[Visit]:
    for name, address in every_address():
        yield Visit(name, reverse(name, kwargs=address.kwargs(world, side)), address)


@pytest.fixture
def world() -> World:
    return make_world()


def as_role(world: World, role: str) -> Client:
    client = Client(raise_request_exception=True)
    client.force_login(getattr(world, role))
    return client


# The table itself


def test_every_address_of_the_urlconf_says_who_may_open_it() -> None:
    found = {pattern.name for pattern in patterns()}
    assert None not in found, "An address has no name: give it one, and an entry in ADDRESSES."
    named = {str(name) for name in found}
    missing = named - set(ADDRESSES) - FOR_STRANGERS
    assert not missing, (
        f"Nobody has said who may open {sorted(missing)}. Add each to ADDRESSES in "
        "tests/addresses.py with the roles that open it and what its arguments are about."
    )
    gone = set(ADDRESSES) - named
    assert not gone, f"{sorted(gone)} is no address any more: take it out of ADDRESSES."


def test_every_record_with_a_log_is_tried() -> None:
    from repairs.change_log import ROOTS

    tried = {
        address.about["model"][1:] for name, address in every_address() if name == "change-log"
    }
    assert tried == set(ROOTS), "Add the record's log to 'change-log' in ADDRESSES."


# The visitors


def test_a_stranger_is_sent_to_the_log_in_page_from_everywhere(world: World) -> None:
    before, client, wrong = all_rows(), Client(), []
    for visit in visits(world, world.given):
        for path in visit.paths():
            for answer in (client.get(path), client.post(path, {"name": "x"})):
                sent_away = answer.status_code == 302 and answer["Location"].startswith("/log-in/")
                # A log-out by somebody who is not logged in changes nothing.
                if not sent_away and visit.name != "log-out":
                    wrong.append(f"{visit.name} {path}: {answer.status_code}")
    assert not wrong
    assert all_rows() == before


@pytest.mark.parametrize("role", ALL)
def test_each_role_opens_exactly_its_pages(world: World, role: str) -> None:
    wrong = []
    for visit in visits(world, world.given):
        for path in visit.paths():
            expected = _verdict(visit, role)
            found = as_role(world, role).get(path).status_code
            if found != expected:
                wrong.append(f"{visit.name} {path}: {found}, not {expected}")
    assert not wrong


def _verdict(visit: Visit, role: str) -> int:
    if not visit.may(role):
        return REFUSED
    if visit.address.only_post:
        return ONLY_POST
    if visit.address.own and visit.address.own != role:
        return NOT_FOUND
    return LED_ON if visit.address.leads_on else SEEN


@pytest.mark.parametrize("role", [CREW, MANAGER])
def test_crew_and_managers_open_every_property(world: World, role: str) -> None:
    wrong = []
    for visit in visits(world, world.hidden):
        if visit.address.of_one_property() and visit.may(role):
            found = as_role(world, role).get(visit.path).status_code
            if found != _verdict(visit, role):
                wrong.append(f"{visit.name} {visit.path}: {found}")
    assert not wrong


def test_a_viewer_finds_nothing_of_a_property_not_given(world: World) -> None:
    client, wrong = as_role(world, VIEWER), []
    for visit in visits(world, world.hidden):
        if not visit.address.of_one_property():
            continue
        for path in visit.paths():
            expected = NOT_FOUND if visit.may(VIEWER) else REFUSED
            found = client.get(path).status_code
            if found != expected:
                wrong.append(f"{visit.name} {path}: {found}, not {expected}")
    assert not wrong


@pytest.mark.parametrize("side", ["given", "hidden"])
def test_a_viewer_changes_nothing_by_sending_a_form(world: World, side: str) -> None:
    before, client, wrong = all_rows(), as_role(world, VIEWER), []
    body = {"name": "Changed", "reason": "Changed", "act": "save", "key": str(uuid4())}
    for visit in visits(world, getattr(world, side)):
        if visit.name in {"log-out", "password-change"}:
            continue
        found = client.post(visit.path, body).status_code
        may_read = visit.may(VIEWER) and side == "given" and found in {SEEN, ONLY_POST}
        if found not in {REFUSED, NOT_FOUND, ONLY_POST} and not (
            may_read or (not visit.address.of_one_property() and visit.may(VIEWER))
        ):
            wrong.append(f"{visit.name} {visit.path}: {found}")
    assert not wrong
    assert all_rows() == before


@pytest.mark.parametrize("role", [CREW])
def test_crew_change_nothing_that_is_the_managers_to_change(world: World, role: str) -> None:
    before, client, wrong = all_rows(), as_role(world, role), []
    for visit in visits(world, world.given):
        if not visit.may(role):
            found = client.post(visit.path, {"name": "Changed", "reason": "Changed"}).status_code
            if found != REFUSED:
                wrong.append(f"{visit.name} {visit.path}: {found}")
    assert not wrong
    assert all_rows() == before


def test_opening_a_page_changes_nothing(world: World) -> None:
    before, wrong = all_rows(), []
    client = as_role(world, MANAGER)
    for visit in visits(world, world.given):
        for path in visit.paths():
            client.get(path)
    for name, rows in all_rows().items():
        if rows != before[name]:
            wrong.append(name)
    assert not wrong


def test_only_its_own_person_reaches_a_draft(world: World) -> None:
    draft = world.rows["draft"]
    manager = as_role(world, MANAGER)
    assert manager.get(f"/repairs/log/?draft={draft.key}").status_code == NOT_FOUND
    away = reverse("draft-throw-away", args=[draft.key])
    assert manager.post(away).status_code == NOT_FOUND
    assert as_role(world, CREW).get(f"/repairs/log/?draft={draft.key}").status_code == SEEN
    assert as_role(world, CREW).post(away).status_code == 302


# What a page lets through


def text_of(answer: Any) -> str:
    """All that can be read in an answer, whatever kind of file it is."""
    content = answer.getvalue()
    kind = answer.headers["Content-Type"]
    if "spreadsheet" in kind:
        book = load_workbook(io.BytesIO(content))
        return " ".join(str(c) for sheet in book for row in sheet.values for c in row)
    if "pdf" in kind:
        reader = PdfReader(io.BytesIO(content))
        told = " ".join(page.extract_text() for page in reader.pages)
        return f"{told} {reader.metadata}"
    if "image" in kind:
        return ""
    return f"{content.decode()} {answer.headers}"


def test_nothing_of_a_hidden_property_shows_anywhere(world: World) -> None:
    client, told = as_role(world, VIEWER), []
    for visit in visits(world, world.given):
        if not visit.may(VIEWER) or visit.address.only_post or visit.address.own:
            continue
        for path in visit.paths():
            text = text_of(client.get(path))
            for found in re.findall(rf".{{0,60}}(?:{HIDDEN}|{HIDDEN_PK}).{{0,30}}", text):
                told.append(f"{visit.name} {path}: {found!r}")
    assert not told


def test_the_hidden_property_would_be_found_by_this_reading(world: World) -> None:
    client = as_role(world, MANAGER)
    for name in ("property-list", "repair-list", "inspection-list", "cost-line-list"):
        for query in ("", *EXPORTS):
            assert HIDDEN in text_of(client.get(f"{reverse(name)}?{query}")), (name, query)
    pdf = reverse("history-pdf", args=[world.hidden.property.pk])
    assert HIDDEN in text_of(client.get(pdf)).replace("\n", "")


LISTS = [
    "property-list", "defect-list", "owner-list", "repair-list", "inspection-list",
    "inspection-calendar", "cost-list", "cost-portfolio", "cost-line-list", "plan-list",
]  # fmt: skip
NARROWED_BY = ("property", "place", "owner", "building", "member", "person")
SEARCHED_BY = ("q", "search", "mark")


@pytest.mark.parametrize("name", LISTS)
def test_a_list_cannot_be_narrowed_to_what_is_hidden(world: World, name: str) -> None:
    client = as_role(world, VIEWER)
    for param in NARROWED_BY:
        for query in (f"{param}={HIDDEN_PK}", f"{param}={HIDDEN_PK}&_export=csv&state=done"):
            text = text_of(client.get(f"{reverse(name)}?{query}"))
            assert HIDDEN not in text, query


@pytest.mark.parametrize("name", LISTS)
def test_a_search_finds_nothing_that_is_hidden(world: World, name: str) -> None:
    client = as_role(world, VIEWER)
    for param in SEARCHED_BY:
        text = text_of(client.get(f"{reverse(name)}?{param}={HIDDEN}&_export=csv"))
        # The words asked for are said again; nothing else of the hidden property is.
        for rest in (" Yard", " Barn", "-SILL", " Trust", " Lane", " side", " the tenant"):
            assert f"{HIDDEN}{rest}" not in text, param

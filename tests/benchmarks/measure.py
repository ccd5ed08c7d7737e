"""What is measured, each beside the raw limit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import BytesIO

from django.contrib.auth.models import User
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from properties.models import Building, Member, Property
from repairs.costs.reports import Period, building_report, building_totals, portfolio_reports
from repairs.history.pdf import history_parts, history_pdf, whole
from repairs.history.scope import Scope
from repairs.logbook.entry import BatchEntry, PartEntry, RepairEntry, StageEntry
from repairs.logbook.log import log_repair
from repairs.models import CostLine
from repairs.paper import pdf_from_html
from tests.benchmarks.ahead import ahead_ratio
from tests.benchmarks.calculations import calculations
from tests.benchmarks.due import due_ratio
from tests.benchmarks.feeds import feed_ratio
from tests.benchmarks.lives import lives_ratios
from tests.benchmarks.stopwatch import Act, Ratio, compare
from tests.factories import BuildingFactory, MemberFactory, SheetRevisionFactory, make_kit_lot

LISTS = (
    "today", "property-list", "repair-list", "store-list", "inspection-list", "cost-list",
    "cost-line-list", "person-list",
)  # fmt: skip
BY_BUILDING = "SELECT building_id, SUM(home_minor) FROM repairs_costline GROUP BY building_id"
BY_PART = "SELECT year, kind, cause, SUM(home_minor) FROM repairs_costline {} GROUP BY 1, 2, 3"
OF_ONE = (
    BY_PART.format("WHERE building_id = 4711"),
    "SELECT member_id, SUM(home_minor) FROM repairs_costline WHERE building_id = 4711 GROUP BY 1",
    "SELECT id, mark, kind FROM properties_member WHERE building_id = 4711",
)


def everything() -> Iterator[Ratio]:
    yield from reports()
    yield saving()
    yield from pages()
    yield feed_ratio()
    yield due_ratio()
    yield from lives_ratios()
    yield ahead_ratio()
    yield from documents()
    yield from calculations()


def sql(*statements: str) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
            cursor.fetchall()


def reports() -> Iterator[Ratio]:
    yield compare(
        "lifetime cost of each of 10,000 buildings, against plain SQL",
        lambda: building_totals(CostLine.objects.all()),
        lambda: sql(BY_BUILDING),
        "1.5",
    )
    yield compare(
        "lifetime cost of the portfolio by year, kind and cause, against plain SQL",
        lambda: portfolio_reports(Property.objects.all(), Period()),
        lambda: sql(BY_PART.format("")),
        "1.5",
    )
    building = Building.objects.select_related("property").get(pk=4711)
    yield compare(
        "lifetime cost of one building by all its divisions, against plain SQL",
        lambda: building_report(building, Period()),
        lambda: sql(*OF_ONE),
        "1.5",
        rounds=51,
    )


def saving() -> Ratio:
    """A two-stage repair with three batches, against the same rows inserted bare. Both are
    rolled back, so that the same rows can be inserted again."""
    by, first = User.objects.get(), _entry()
    with CaptureQueriesContext(connection) as captured:
        _rolled_back(lambda: log_repair(first, by, first.began_at + timedelta(days=3)))
    inserts = [query["sql"] for query in captured if query["sql"].startswith("INSERT")]
    return compare(
        f"save of a logged repair, against its {len(inserts)} bare inserts",
        lambda: _rolled_back(lambda: log_repair(first, by, first.began_at + timedelta(days=3))),
        lambda: _rolled_back(lambda: _insert(inserts)),
        rounds=25,
    )


def _rolled_back(act: Act) -> None:
    with transaction.atomic():
        act()
        transaction.set_rollback(True)


def _insert(statements: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def _entry() -> RepairEntry:
    began = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
    sheet = SheetRevisionFactory()
    kit = make_kit_lot(sheet.product, a=10_000_000, b=3_300_000)
    a, b = kit.part_lots.order_by("part")
    parts = (PartEntry(a, "a", Decimal(100)), PartEntry(b, "b", Decimal(33)))
    batch = BatchEntry(sheet, "weight", "100 g + 33 g", parts, began)
    later = replace(batch, mixed_at=began + timedelta(hours=26))
    stages = (
        StageEntry("seal", began, batches=(batch,)),
        StageEntry("fill", later.mixed_at, batches=(later, later)),
    )
    members = Member.objects.select_related("building__property", "elevation")
    return RepairEntry(members.get(pk=1), "left", "resin", began, stages)


def _client() -> Client:
    client = Client()
    client.force_login(User.objects.get())
    return client


def pages() -> Iterator[Ratio]:
    client = _client()
    for name in LISTS:
        yield compare(
            f"first page of {name}, against an empty logged-in page",
            lambda name=name: client.get(reverse(name)),  # type: ignore[misc]
            lambda: client.get(reverse("empty")),
            rounds=9,
        )
    address = reverse("cost-building", args=[4711])
    yield compare(
        "one building's cost page, against an empty logged-in page",
        lambda: client.get(address),
        lambda: client.get(reverse("empty")),
        "2",
        rounds=51,
    )


def query_counts() -> list[str]:
    client = _client()
    lines = []
    for name in LISTS:
        client.get(reverse(name))
        with CaptureQueriesContext(connection) as captured:
            client.get(reverse(name))
        lines.append(f"{name}: {len(captured)} queries")
    return lines


def documents() -> Iterator[Ratio]:
    """A history of some 20 and of some 200 pages, against WeasyPrint given its ready HTML."""
    from pypdf import PdfReader

    for repairs, rounds in ((24, 3), (260, 1)):
        scope = Scope(_property_with(repairs), on=date(2026, 5, 10))
        pages = len(PdfReader(BytesIO(history_pdf(scope, "the measurer", "a4"))).pages)
        ready = history_parts(scope, "the measurer")
        html = whole(ready)
        yield compare(
            f"history PDF of {pages} pages, against WeasyPrint given the same HTML",
            lambda scope=scope: history_pdf(scope, "the measurer", "a4"),  # type: ignore[misc]
            lambda html=html, ready=ready: pdf_from_html(html, "a4", ready.pictures),  # type: ignore[misc]
            rounds=rounds,
        )


def _property_with(repairs: int) -> Property:
    building = BuildingFactory()
    by = User.objects.get()
    for _ in range(repairs // 4):
        member = MemberFactory(building=building)
        for zone in ("left", "mid", "right", "whole"):
            entry = replace(_entry(), member=member, zone=zone)
            log_repair(entry, by, entry.began_at + timedelta(days=3))
    return building.property

"""A large installation, made up by counting: 10,000 buildings and a million cost lines."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import islice
from typing import Any

from django.db import connection, models

from materials.models import Lot, Movement, Product
from properties.models import Building, Defect, Elevation, Member, Owner, Ownership, Property
from repairs.models import CostLine, DueDate, Inspection, Repair, Stage
from tests.factories import make_manager

PROPERTIES, BUILDINGS, MEMBERS, REPAIRS, COST_LINES = 2_000, 10_000, 200_000, 100_000, 1_000_000
LOTS = 1_000
KINDS = ["labour", "material", "access", "disposal", "fee"]
CAUSES = ["gutter", "end_grain", "open_joint", "unknown"]
FIRST_DAY = date(2001, 1, 1)


def fill() -> None:
    make_manager(username="measurer")
    _rows(Owner, 500, lambda n: Owner(name=f"Owner {n}"))
    _rows(Property, PROPERTIES, _property)
    _rows(Ownership, PROPERTIES, _ownership)
    _rows(Building, BUILDINGS, _building)
    _rows(Elevation, BUILDINGS * 4, _elevation)
    _rows(Member, MEMBERS, _member)
    _rows(Defect, MEMBERS // 4, _defect)
    _rows(Repair, REPAIRS, _repair)
    _rows(Stage, REPAIRS * 2, _stage)
    _rows(DueDate, MEMBERS, _due)
    _rows(Inspection, REPAIRS, _inspection)
    _rows(CostLine, COST_LINES, _cost_line)
    _rows(Product, 50, lambda n: Product(name=f"Product {n}", kind="filler", parts=1))
    _rows(Lot, LOTS, _lot)
    _rows(Movement, LOTS * 10, _movement)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _rows(model: type[models.Model], count: int, make: Callable[[int], models.Model]) -> None:
    rows: Iterator[models.Model] = (make(n) for n in range(1, count + 1))
    while chunk := list(islice(rows, 10_000)):
        _insert(model, chunk)


def _insert(model: type[models.Model], rows: Iterable[Any]) -> None:
    model._default_manager.bulk_create(rows, batch_size=900)


def _day(n: int) -> date:
    return FIRST_DAY + timedelta(days=n * 7919 % 9_400)


def _instant(n: int) -> datetime:
    return datetime.combine(_day(n), datetime.min.time(), UTC) + timedelta(hours=9)


def _property(n: int) -> Property:
    return Property(pk=n, name=f"Property {n}", address=f"{n} Invented Road")


def _ownership(n: int) -> Ownership:
    return Ownership(property_id=n, owner_id=n % 500 + 1, from_on=FIRST_DAY)


def _building(n: int) -> Building:
    return Building(pk=n, property_id=n % PROPERTIES + 1, name=f"Building {n}")


def _elevation(n: int) -> Elevation:
    return Elevation(
        pk=n,
        building_id=(n - 1) // 4 + 1,
        name=("North", "East", "South", "West")[n % 4],
        bearing_deg=Decimal(n % 4 * 90),
    )


def _member(n: int) -> Member:
    building = (n - 1) % BUILDINGS + 1
    return Member(
        pk=n,
        building_id=building,
        elevation_id=(building - 1) * 4 + n % 4 + 1,
        mark=f"M-{n:06}",
        kind=("sill", "fascia", "post", "jamb")[n % 4],
        length_mm=Decimal(1000 + n % 900),
    )


def _defect(n: int) -> Defect:
    return Defect(
        member_id=n * 4,
        kind="decay",
        found_on=_day(n),
        cause=CAUSES[n % 4],
        urgency=f"UC{n % 4}",
        state="open" if n % 5 == 0 else "made_good",
    )


def _repair(n: int) -> Repair:
    return Repair(
        pk=n, member_id=n * 2, zone="left", kind="resin", state="finished", began_at=_instant(n)
    )


def _stage(n: int) -> Stage:
    repair = (n - 1) // 2 + 1
    began = _instant(repair) + timedelta(hours=25 * (n % 2))
    return Stage(
        repair_id=repair,
        position=n % 2 + 1,
        kind=("seal", "fill")[n % 2],
        began_at=began,
        ready_at=began + timedelta(hours=24),
    )


def _due(n: int) -> DueDate:
    return DueDate(
        member_id=n,
        kind="coating_look",
        due_on=_day(n) + timedelta(days=3_000),
        counted_from=_day(n),
        set_because="Yearly",
        done_on=_day(n) + timedelta(days=3_001) if n % 4 else None,
    )


def _inspection(n: int) -> Inspection:
    return Inspection(member_id=n, looked_on=_day(n), result="sound", looked_by_name="Robin Larch")


def _cost_line(n: int) -> CostLine:
    minor = n * 104_729 % 250_000 + 1
    credit = n % 50 == 0
    member = n % MEMBERS + 1
    line = CostLine(
        building_id=(member - 1) % BUILDINGS + 1,
        member_id=member,
        kind="credit" if credit else KINDS[n % 5],
        cause=CAUSES[n % 4],
        amount_minor=-minor if credit else minor,
        home_minor=-minor if credit else minor,
        currency="GBP",
        worked_on=_day(n),
    )
    line.set_day()
    return line


def _lot(n: int) -> Lot:
    return Lot(
        pk=n,
        product_id=n % 50 + 1,
        part="one",
        number=f"LOT-{n:05}",
        received_on=_day(n),
        usable_until=_day(n) + timedelta(days=9_000),
    )


def _movement(n: int) -> Movement:
    received = n <= LOTS
    return Movement(
        lot_id=n % LOTS + 1,
        kind="received" if received else "used",
        amount=Decimal(1000 if received else -50),
        at=_instant(n),
    )

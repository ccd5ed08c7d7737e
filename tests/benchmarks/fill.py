"""A large installation, made up by counting: 10,000 buildings and a million cost lines."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import islice
from typing import Any
from uuid import uuid4

from django.db import connection, models, transaction

from materials.models import Lot, Movement, Product
from properties.models import Building, Defect, Elevation, Member, Owner, Ownership, Property
from repairs.models import CostLine, DueDate, Inspection, Repair, Stage

PROPERTIES, BUILDINGS, MEMBERS, REPAIRS, COST_LINES = 2_000, 10_000, 200_000, 100_000, 1_000_000
LOTS = 1_000
KINDS = ["labour", "material", "access", "disposal", "fee"]
CAUSES = ["gutter", "end_grain", "open_joint", "unknown"]
Row = dict[str, Any]
FIRST_DAY = date(2001, 1, 1)


def fill() -> None:
    with transaction.atomic():
        _all_rows()
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _all_rows() -> None:
    fill_rows(Owner, 500, lambda n: {"name": f"Owner {n}"})
    fill_rows(Property, PROPERTIES, _property)
    fill_rows(Ownership, PROPERTIES, _ownership)
    fill_rows(Building, BUILDINGS, _building)
    fill_rows(Elevation, BUILDINGS * 4, _elevation)
    fill_rows(Member, MEMBERS, _member)
    fill_rows(Defect, MEMBERS // 4, _defect)
    fill_rows(Repair, REPAIRS, _repair)
    fill_rows(Stage, REPAIRS * 2, _stage)
    fill_rows(DueDate, MEMBERS, _due)
    fill_rows(Inspection, REPAIRS, _inspection)
    fill_rows(CostLine, COST_LINES, _cost_line)
    fill_rows(Product, 50, lambda n: {"name": f"Product {n}", "kind": "filler", "parts": 1})
    fill_rows(Lot, LOTS, _lot)
    fill_rows(Movement, LOTS * 10, _movement)


def fill_rows(model: type[models.Model], count: int, make: Callable[[int], Row]) -> None:
    """Rows by plain SQL: what a row does not say is the model's own default."""
    fields = [field for field in model._meta.concrete_fields if not field.primary_key]
    defaults = [field.get_db_prep_save(_default(field), connection) for field in fields]
    places = {field.attname: place for place, field in enumerate(fields)}
    names = ", ".join(f'"{field.column}"' for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    sql = f'INSERT INTO "{model._meta.db_table}" ({names}) VALUES ({marks})'

    def row(n: int) -> list[Any]:
        values = list(defaults)
        for name, value in make(n).items():
            values[places[name]] = _stored(value)
        return values

    rows = (row(n) for n in range(1, count + 1))
    with connection.cursor() as cursor:
        while chunk := list(islice(rows, 20_000)):
            cursor.executemany(sql, chunk)


def _stored(value: Any) -> Any:
    if isinstance(value, datetime):
        return connection.ops.adapt_datetimefield_value(value)
    return value


def _default(field: models.Field[Any, Any]) -> Any:
    if getattr(field, "auto_now_add", False) or getattr(field, "auto_now", False):
        return datetime(2026, 1, 1, tzinfo=UTC)
    return field.get_default()


def _day(n: int) -> date:
    return FIRST_DAY + timedelta(days=n * 7919 % 9_400)


def _instant(n: int) -> datetime:
    return datetime.combine(_day(n), datetime.min.time(), UTC) + timedelta(hours=9)


def _property(n: int) -> Row:
    return {"name": f"Property {n}", "address": f"{n} Invented Road"}


def _ownership(n: int) -> Row:
    return {"property_id": n, "owner_id": n % 500 + 1, "from_on": FIRST_DAY}


def _building(n: int) -> Row:
    return {"property_id": n % PROPERTIES + 1, "name": f"Building {n}"}


def _elevation(n: int) -> Row:
    return {
        "building_id": (n - 1) // 4 + 1,
        "name": ("North", "East", "South", "West")[n % 4],
        "bearing_deg": Decimal(n % 4 * 90),
    }


def _member(n: int) -> Row:
    building = (n - 1) % BUILDINGS + 1
    return {
        "building_id": building,
        "elevation_id": (building - 1) * 4 + n % 4 + 1,
        "mark": f"M-{n:06}",
        "kind": ("sill", "fascia", "post", "jamb")[n % 4],
        "length_mm": Decimal(1000 + n % 900),
        "load_bearing": "no",
        "oldest_paint_year": 1996,
    }


def _defect(n: int) -> Row:
    return {
        "member_id": n * 4,
        "kind": "decay",
        "found_on": _day(n),
        "cause": CAUSES[n % 4],
        "urgency": f"UC{n % 4}",
        "state": "open" if n % 5 == 0 else "made_good",
    }


def _repair(n: int) -> Row:
    return {
        "member_id": n * 2,
        "submission": uuid4().hex,
        "zone": "left",
        "kind": "resin",
        "state": "finished",
        "began_at": _instant(n),
    }


def _stage(n: int) -> Row:
    repair = (n - 1) // 2 + 1
    began = _instant(repair) + timedelta(hours=25 * (n % 2))
    return {
        "repair_id": repair,
        "position": n % 2 + 1,
        "kind": ("seal", "fill")[n % 2],
        "began_at": began,
        "ready_at": began + timedelta(hours=24),
    }


def _due(n: int) -> Row:
    return {
        "member_id": n,
        "kind": "coating_look",
        "due_on": _day(n) + timedelta(days=3_000),
        "counted_from": _day(n),
        "set_because": "Yearly",
        "done_on": _day(n) + timedelta(days=3_001) if n % 4 else None,
    }


def _inspection(n: int) -> Row:
    return {
        "member_id": n,
        "submission": uuid4().hex,
        "looked_on": _day(n),
        "result": "sound",
        "looked_by_name": "Robin Larch",
    }


def _cost_line(n: int) -> Row:
    """Every thousandth line takes the one before it back."""
    if n % 1000:
        return _new_cost_line(n)
    line = _new_cost_line(n - 1)
    against = {name: -line[name] for name in ("amount_minor", "home_minor")}
    return {**line, **against, "reverses_id": n - 1}


def _new_cost_line(n: int) -> Row:
    minor = n * 104_729 % 250_000 + 1
    credit = n % 50 == 0
    member = n % MEMBERS + 1
    return {
        "building_id": (member - 1) % BUILDINGS + 1,
        "member_id": member,
        "kind": "credit" if credit else KINDS[n % 5],
        "cause": CAUSES[n % 4],
        "amount_minor": -minor if credit else minor,
        "home_minor": -minor if credit else minor,
        "currency": "GBP",
        "worked_on": _day(n),
        "counts_on": _day(n),
        "year": _day(n).year,
    }


def _lot(n: int) -> Row:
    return {
        "product_id": n % 50 + 1,
        "part": "one",
        "number": f"LOT-{n:05}",
        "received_on": _day(n),
        "usable_until": _day(n) + timedelta(days=9_000),
    }


def _movement(n: int) -> Row:
    received = n <= LOTS
    return {
        "lot_id": n % LOTS + 1,
        "kind": "received" if received else "used",
        "amount": Decimal(1000 if received else -50),
        "at": _instant(n),
    }

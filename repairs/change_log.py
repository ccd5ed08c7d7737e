"""Who changed what and when, read from the history that every record keeps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import models
from django.db.models import QuerySet

from materials.models import Kit, Lot, Product, SheetRevision
from properties.models import (
    Building,
    Defect,
    Elevation,
    Member,
    MoistureReading,
    Owner,
    Ownership,
    Person,
    Property,
)
from repairs.models import (
    Batch,
    BatchPart,
    BatchShare,
    DueDate,
    DueRule,
    Inspection,
    KeptRemark,
    Labour,
    MemberInterval,
    Photograph,
    Plan,
    PlanOption,
    PlanShape,
    PlanStage,
    PriceIndex,
    PriceIndexYear,
    Repair,
    Round,
    RoundStop,
    SharedCost,
    SignOff,
    Stage,
    WorkMove,
    WorkRate,
)

from .change_words import NOT_RECORDED, Reader

MOST_ROWS = 1000
# What changes by itself, and says nothing to a reader.
UNTOLD = {"id", "submission", "usable_until", "sha256", "original_name"}
# What a record's name reads from other records.
NAMED_BY: dict[type[models.Model], tuple[str, ...]] = {
    Batch: ("sheet__product",),
    Building: ("property",),
    Defect: ("member",),
    DueDate: ("member",),
    Elevation: ("building__property",),
    Inspection: ("member",),
    Kit: ("product",),
    Lot: ("product",),
    Person: ("user",),
    Plan: ("defect__member",),
    Repair: ("member",),
    SheetRevision: ("product",),
}
ACTS = {"+": "entered", "~": "changed", "-": "removed"}


@dataclass(frozen=True)
class Root:
    """A record with a log of its own. `to_property` is the path to the property that says who
    may read it; None where a permission alone decides. `parts` are the records told with it."""

    model: type[models.Model]
    to_property: str | None
    parts: tuple[tuple[type[models.Model], str], ...] = ()


ROOTS = {
    "owner": Root(Owner, None),
    "property": Root(
        Property,
        "pk",
        ((Ownership, "property_id"), (WorkRate, "property_id"), (WorkMove, "property_id")),
    ),
    "building": Root(Building, "property"),
    "elevation": Root(Elevation, "building__property"),
    "member": Root(
        Member,
        "building__property",
        ((MoistureReading, "member_id"), (MemberInterval, "member_id")),
    ),
    "defect": Root(Defect, "member__building__property", ((MoistureReading, "defect_id"),)),
    "repair": Root(
        Repair,
        "member__building__property",
        (
            (Stage, "repair_id"),
            (Labour, "repair_id"),
            (KeptRemark, "repair_id"),
            (SignOff, "repair_id"),
            (Photograph, "repair_id"),
        ),
    ),
    "plan": Root(
        Plan,
        "defect__member__building__property",
        ((PlanShape, "plan_id"), (PlanStage, "plan_id"), (PlanOption, "plan_id")),
    ),
    "batch": Root(Batch, None, ((BatchPart, "batch_id"), (BatchShare, "batch_id"))),
    "inspection": Root(Inspection, "member__building__property", ((Photograph, "inspection_id"),)),
    "due-date": Root(DueDate, "member__building__property"),
    "round": Root(Round, None, ((RoundStop, "round_id"),)),
    "rule": Root(DueRule, None),
    "price-index": Root(PriceIndex, None, ((PriceIndexYear, "index_id"),)),
    "product": Root(Product, None, ((SheetRevision, "product_id"), (Kit, "product_id"))),
    "lot": Root(Lot, None),
    "shared-cost": Root(SharedCost, None),
    "person": Root(Person, None),
}


@dataclass(frozen=True)
class Change:
    name: str
    before: str
    after: str


@dataclass(frozen=True)
class LogEntry:
    when: datetime
    who: str
    title: str
    changes: tuple[Change, ...]


def records_of(root: Root) -> QuerySet[Any]:
    """The records of a root, each with what its name and its property are read from."""
    records: QuerySet[Any] = root.model._default_manager.all()
    to_property = [root.to_property] if root.to_property not in (None, "pk") else []
    paths = [*to_property, *NAMED_BY.get(root.model, ())]
    return records.select_related(*paths) if paths else records


def property_of(root: Root, record: Any) -> Property | None:
    if root.to_property is None:
        return None
    steps = [] if root.to_property == "pk" else root.to_property.split("__")
    for step in steps:
        record = getattr(record, step)
    return record


def log_of(root: Root, pk: int, reader: Reader) -> list[LogEntry]:
    """Every kept version of a record and its parts, the newest first."""
    sources = [(root.model, "id"), *root.parts]
    entries = [entry for model, key in sources for entry in _entries(model, key, pk, reader)]
    return sorted(entries, key=lambda entry: entry.when, reverse=True)


def _entries(model: type[models.Model], key: str, pk: int, reader: Reader) -> Iterable[LogEntry]:
    earlier: dict[int, Any] = {}
    for version in _versions(model, key, pk):
        before = earlier.get(version.id)
        earlier[version.id] = version
        yield LogEntry(
            when=version.history_date,
            who=_name(version.history_user) or "the system",
            title=f"{str(model._meta.verbose_name).capitalize()} {ACTS[version.history_type]}",
            changes=tuple(_changes(_fields(model, version), before, version, reader)),
        )


def _versions(model: type[models.Model], key: str, pk: int) -> list[Any]:
    """The oldest first, in one query with the people and the names that they speak of."""
    kept: QuerySet[Any] = model.history.filter(**{key: pk})  # type: ignore[attr-defined]
    named = kept.select_related("history_user", *_named(kept.model))
    newest = named.order_by("-history_date", "-history_id")[:MOST_ROWS]
    return list(newest)[::-1]


def _named(version: type[models.Model]) -> Iterable[str]:
    for field in version._meta.fields:
        if isinstance(field, models.ForeignKey):
            yield field.name
            for path in NAMED_BY.get(field.related_model, ()):
                yield f"{field.name}__{path}"


def _fields(model: type[models.Model], version: Any) -> list[models.Field[Any, Any]]:
    kept = {field.name for field in version._meta.fields}
    return [
        field for field in model._meta.fields if field.name in kept and field.name not in UNTOLD
    ]


def _changes(
    fields: list[models.Field[Any, Any]], before: Any, after: Any, reader: Reader
) -> Iterable[Change]:
    for field in fields:
        old = None if before is None else getattr(before, field.attname)
        new = getattr(after, field.attname)
        # A first version tells what was filled in; a later one what became of it.
        if new == old or (before is None and new in (None, "", [], False)):
            continue
        was = "" if before is None else _say(field, before, reader)
        yield Change(
            name=str(field.verbose_name).capitalize(),
            before="" if was == NOT_RECORDED else was,
            after=_say(field, after, reader),
        )


def _say(field: models.Field[Any, Any], version: Any, reader: Reader) -> str:
    value = getattr(version, field.attname)
    if isinstance(field, models.ForeignKey) and value is not None:
        return _name(getattr(version, field.name)) or f"number {value}"
    return reader.say(field, value, version)


def _name(record: models.Model | None) -> str:
    """Empty for a record that is there no more."""
    if record is None:
        return ""
    return (record.get_full_name() if isinstance(record, User) else "") or str(record)

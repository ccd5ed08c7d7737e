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
    Repair,
    SharedCost,
    SignOff,
    Stage,
)

from .change_words import NOT_RECORDED, Reader

MOST_ROWS = 1000
# What changes by itself, and says nothing to a reader.
UNTOLD = {"id", "submission", "usable_until", "sha256", "original_name"}
# Names that are made up over more than one step.
NAMED_BY: dict[type[models.Model], tuple[str, ...]] = {
    Batch: ("sheet__product",),
    Elevation: ("building__property",),
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
    "property": Root(Property, "pk", ((Ownership, "property_id"),)),
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
    "batch": Root(Batch, None, ((BatchPart, "batch_id"), (BatchShare, "batch_id"))),
    "inspection": Root(Inspection, "member__building__property", ((Photograph, "inspection_id"),)),
    "due-date": Root(DueDate, "member__building__property"),
    "rule": Root(DueRule, None),
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
    versions = _versions(model, key, pk)
    names = _names_of_related(model, versions)
    people = _people(versions)
    earlier: dict[int, Any] = {}
    for version in versions:
        before = earlier.get(version.id)
        earlier[version.id] = version
        yield LogEntry(
            when=version.history_date,
            who=people.get(version.history_user_id, "the system"),
            title=f"{str(model._meta.verbose_name).capitalize()} {ACTS[version.history_type]}",
            changes=tuple(_changes(_fields(model, version), before, version, names, reader)),
        )


def _versions(model: type[models.Model], key: str, pk: int) -> list[Any]:
    kept: QuerySet[Any] = model.history.filter(**{key: pk})  # type: ignore[attr-defined]
    newest = kept.order_by("-history_date", "-history_id")[:MOST_ROWS]
    return list(newest)[::-1]


def _fields(model: type[models.Model], version: Any) -> list[models.Field[Any, Any]]:
    kept = {field.name for field in version._meta.fields}
    return [
        field for field in model._meta.fields if field.name in kept and field.name not in UNTOLD
    ]


def _changes(
    fields: list[models.Field[Any, Any]],
    before: Any,
    after: Any,
    names: dict[str, dict[Any, str]],
    reader: Reader,
) -> Iterable[Change]:
    def say(field: models.Field[Any, Any], version: Any) -> str:
        value = getattr(version, field.attname)
        if field.name in names and value is not None:
            return names[field.name].get(value, f"number {value}")
        return reader.say(field, value, version)

    for field in fields:
        old = None if before is None else getattr(before, field.attname)
        new = getattr(after, field.attname)
        # A first version tells what was filled in; a later one what became of it.
        if new == old or (before is None and new in (None, "", [], False)):
            continue
        was = "" if before is None else say(field, before)
        yield Change(
            name=str(field.verbose_name).capitalize(),
            before="" if was == NOT_RECORDED else was,
            after=say(field, after),
        )


def _names_of_related(model: type[models.Model], versions: list[Any]) -> dict[str, dict[Any, str]]:
    """The names behind foreign keys: one query for each field, whatever the number of rows."""
    names: dict[str, dict[Any, str]] = {}
    for field in model._meta.fields:
        if not isinstance(field, models.ForeignKey) or not versions:
            continue
        wanted = {getattr(version, field.attname, None) for version in versions} - {None}
        related = field.related_model
        found = _with_names(related).filter(pk__in=wanted)
        names[field.name] = {row.pk: str(row) for row in found}
    return names


def _with_names(model: type[models.Model]) -> QuerySet[Any]:
    """What a row's name reads from other rows, fetched along with it."""
    foreign = [field.name for field in model._meta.fields if isinstance(field, models.ForeignKey)]
    return model._default_manager.select_related(*foreign, *NAMED_BY.get(model, ()))


def _people(versions: list[Any]) -> dict[int, str]:
    wanted = {version.history_user_id for version in versions} - {None}
    users = User.objects.filter(pk__in=wanted)
    return {user.pk: user.get_full_name() or user.username for user in users}

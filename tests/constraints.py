"""Every constraint of an app, each shown a row that breaks it and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.apps import apps
from django.db import IntegrityError, models, transaction


@dataclass(frozen=True)
class BadRow:
    """A sound row, made by its factory, and what is wrong with a copy of it. A figure that is a
    function is asked of the copy."""

    make: Callable[..., models.Model]
    wrong: dict[str, Any] = field(default_factory=dict)
    sound: dict[str, Any] = field(default_factory=dict)

    def copy(self) -> models.Model:
        row = self.make(**self.sound)
        kept, row.pk = row.pk, None
        for name, value in self.wrong.items():
            setattr(row, name, value(kept) if callable(value) else value)
        return row


def constraints_of(app: str) -> dict[str, models.BaseConstraint]:
    return {
        constraint.name: constraint
        for model in apps.get_app_config(app).get_models()
        for constraint in model._meta.constraints
    }


def refusal(row: models.Model) -> str:
    """What the database itself says to a row that no form and no model has looked at."""
    try:
        with transaction.atomic():
            type(row)._base_manager.bulk_create([row])
    except IntegrityError as error:
        return str(error)
    return "it was let in"


def names(constraint: models.BaseConstraint, model: models.Model, said: str) -> bool:
    """Whether a refusal is this constraint's; SQLite tells a unique one by its columns."""
    if isinstance(constraint, models.UniqueConstraint):
        meta = model._meta
        columns = [meta.get_field(name).column for name in constraint.fields]  # type: ignore[union-attr]
        told = ", ".join(f"{meta.db_table}.{column}" for column in columns)
        return constraint.name in said or said.endswith(f"UNIQUE constraint failed: {told}")
    return constraint.name in said

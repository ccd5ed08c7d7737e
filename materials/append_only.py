"""Ledgers that are only ever added to: refused with a sentence in Python, and by the database."""

from __future__ import annotations

from typing import Any, ClassVar, TypeVar

from django.apps import AppConfig
from django.db import connections, models

Line = TypeVar("Line", bound=models.Model)

_ON_SQLITE = """
CREATE TRIGGER IF NOT EXISTS {table}_append_only BEFORE UPDATE ON {table}
BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END
"""
_ON_POSTGRESQL = """
CREATE OR REPLACE FUNCTION refuse_update() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
END $$;
CREATE OR REPLACE TRIGGER {table}_append_only BEFORE UPDATE ON {table}
FOR EACH ROW EXECUTE FUNCTION refuse_update()
"""
_TRIGGERS = {"sqlite": _ON_SQLITE, "postgresql": _ON_POSTGRESQL}


class AppendOnlyError(TypeError):
    """Raised when code tries to change or remove a line of an append-only ledger."""


class AppendOnlyQuerySet(models.QuerySet[Line]):
    def update(self, **kwargs: Any) -> int:
        raise AppendOnlyError(f"{_correction(self.model)}, never changed.")

    def delete(self) -> tuple[int, dict[str, int]]:
        raise AppendOnlyError(f"{_correction(self.model)}, never removed.")


class AppendOnly(models.Model):
    """A line of a ledger. `CORRECTION` says how one is put right instead of changed."""

    CORRECTION: ClassVar[str]

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self.pk is not None and not kwargs.get("force_insert"):
            raise AppendOnlyError(f"{self.CORRECTION}, never changed.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise AppendOnlyError(f"{self.CORRECTION}, never removed.")


def _correction(model: type[models.Model]) -> str:
    assert issubclass(model, AppendOnly)
    return model.CORRECTION


def guard_ledgers(sender: AppConfig, using: str, **kwargs: Any) -> None:
    """Have the database itself refuse changes to the ledgers of an app; run after every migrate,
    since SQLite loses a table's triggers whenever a migration alters the table."""
    connection = connections[using]
    template = _TRIGGERS.get(connection.vendor)
    ledgers = [model for model in sender.get_models() if issubclass(model, AppendOnly)]
    if template is None:
        return
    with connection.cursor() as cursor:
        present = connection.introspection.table_names(cursor)
        for table in (ledger._meta.db_table for ledger in ledgers):
            if table in present:
                cursor.execute(template.format(table=table))

"""Rows made by code are held to the same fields as those made by a form."""

from __future__ import annotations

from typing import TypeVar

from django.db import models

Row = TypeVar("Row", bound=models.Model)


def checked(row: Row) -> Row:
    """The row, once its own fields are sound; ValidationError names the one that is not.

    Foreign keys are left to the database: they come from rows read a moment ago."""
    passed = {
        field.name
        for field in row._meta.concrete_fields
        if field.is_relation or (field.null and getattr(row, field.attname) is None)
    }
    row.clean_fields(exclude=passed)
    row.clean()
    return row

"""The endings that a report with one table can be had with."""

from django.urls import register_converter

TABLE = "table_kind"


class TableKind:
    regex = "pdf|xlsx|csv"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


register_converter(TableKind, TABLE)

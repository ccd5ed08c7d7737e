"""Lists as CSV and XLSX, where no cell can become a formula in the reader's spreadsheet."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any

from django_tables2.export.export import TableExport
from django_tables2.export.views import ExportMixin
from tablib import Dataset

from .pages import FiftyRows

BEGINS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
# XLSX is XML 1.0, which has no place for these.
CONTROL_CHARACTERS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


def plain_cell(value: Any) -> Any:
    """The value; text that a spreadsheet would compute stands behind an apostrophe."""
    if not isinstance(value, str):
        return value
    text = CONTROL_CHARACTERS.sub("", value)
    return f"'{text}" if text.startswith(BEGINS_A_FORMULA) else text


class PlainTableExport(TableExport):
    FORMATS = {name: TableExport.FORMATS[name] for name in (TableExport.CSV, TableExport.XLSX)}

    @classmethod
    def is_valid_format(cls, export_format: str | None) -> bool:
        return export_format in cls.FORMATS

    def table_to_dataset(
        self, table: Any, exclude_columns: Any, dataset_kwargs: dict[str, Any] | None = None
    ) -> Dataset:
        rows = iter(table.as_values(exclude_columns=exclude_columns))
        dataset = Dataset(headers=next(rows), **(dataset_kwargs or {}))
        for row in rows:
            dataset.append([plain_cell(cell) for cell in row])
        return dataset


class ListExport(ExportMixin):
    """Adds the CSV and XLSX downloads to a list view, and bounds its pages."""

    export_formats = ("csv", "xlsx")
    export_class = PlainTableExport
    paginator_class = FiftyRows


def csv_of(head: Iterable[object], rows: Iterable[Iterable[object]]) -> bytes:
    """One table, with a mark at its start by which spreadsheets know the letters."""
    text = StringIO()
    writer = csv.writer(text)
    writer.writerow(head)
    writer.writerows([plain_cell(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")


def number_format(value: Decimal) -> str:
    """As many digits after the point as the number was given with."""
    exponent = value.as_tuple().exponent
    digits = max(0, -exponent) if isinstance(exponent, int) else 0
    return "#,##0" + ("." + "0" * digits if digits else "")


def workbook_of(sheets: Iterable[tuple[str, Iterable[Iterable[object]]]]) -> bytes:
    """A workbook of titled sheets, each with its head held in view; a decimal number is shown with
    the digits that it has."""
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell

    book = Workbook(write_only=True)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        sheet.freeze_panes = "A2"
        for row in rows:
            cells: list[Any] = [plain_cell(cell) for cell in row]
            for place, value in enumerate(cells):
                if isinstance(value, Decimal):
                    cells[place] = WriteOnlyCell(sheet, value)  # type: ignore[arg-type]
                    cells[place].number_format = number_format(value)
            sheet.append(cells)
    content = BytesIO()
    book.save(content)
    return content.getvalue()

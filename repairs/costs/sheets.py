"""Cost accounts as a workbook, one sheet for each table of them."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO
from typing import TYPE_CHECKING

from properties.exports import number_format, plain_cell
from repairs.costs.account_words import account_in_words
from repairs.costs.layout import tables_of

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

    from repairs.costs.account import CostAccount
    from repairs.costs.cells import Cell, CostTable

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
# What a sheet's name may hold, by the file format.
LONGEST_NAME = 31


def workbook_of(accounts: list[CostAccount]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    for account in accounts:
        _add_sheets(book, account, account.currency if len(accounts) > 1 else "")
    if not book.worksheets:
        book.create_sheet("Costs").append(["No costs are recorded"])
    content = BytesIO()
    book.save(content)
    return content.getvalue()


def _add_sheets(book: Workbook, account: CostAccount, suffix: str) -> None:
    tables = tables_of(account, in_full=True)
    if not tables:
        sheet = book.create_sheet(f"Whole {suffix}".strip())
        sheet.append([plain_cell(account_in_words(account))])
    for table in tables:
        sheet = book.create_sheet(f"{table.words} {suffix}".strip()[:LONGEST_NAME])
        _fill(sheet, table)
        if table is tables[0]:
            sheet.append([])
            sheet.append([plain_cell(account_in_words(account))])


def _fill(sheet: Worksheet, table: CostTable) -> None:
    from openpyxl.utils import get_column_letter

    sheet.append([table.head, *table.columns])
    for row in table.rows:
        sheet.append([plain_cell(row.label), *(_value(cell) for cell in row.cells)])
    sheet.column_dimensions["A"].width = 44
    for place, column in enumerate(sheet.iter_cols(min_col=2, max_row=sheet.max_row), start=2):
        sheet.column_dimensions[get_column_letter(place)].width = 18
        for cell in column[1:]:
            if isinstance(cell.value, Decimal):
                cell.number_format = number_format(cell.value)
    for words in table.notes:
        sheet.append([plain_cell(words)])


def _value(cell: Cell) -> Decimal | int | str:
    if cell.number is not None:
        return cell.number
    words: str = plain_cell(cell.text)
    return words

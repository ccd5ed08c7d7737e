"""A cost report as a workbook, one sheet for each way that the total divides."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from materials.money import from_minor
from properties.exports import plain_cell

if TYPE_CHECKING:
    from openpyxl import Workbook

    from repairs.costs.reports import CostReport

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def workbook_of(reports: list[CostReport]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    for report in reports:
        _add_sheets(book, report, report.currency if len(reports) > 1 else "")
    if not book.worksheets:
        book.create_sheet("Costs").append(["No costs are recorded"])
    content = BytesIO()
    book.save(content)
    return content.getvalue()


def _add_sheets(book: Workbook, report: CostReport, suffix: str) -> None:
    summary = book.create_sheet(f"Total {suffix}".strip())
    summary.append([plain_cell(report.title), report.period.in_words()])
    summary.append(["Total", from_minor(report.total_minor, report.currency), report.currency])
    for name, shares in report.sections:
        sheet = book.create_sheet(f"{name} {suffix}".strip())
        sheet.append([name, f"Cost, {report.currency}"])
        for share in shares:
            sheet.append([plain_cell(share.label), from_minor(share.minor, report.currency)])
        sheet.append(["Total", from_minor(report.total_minor, report.currency)])
        sheet.column_dimensions["A"].width = 44
        sheet.column_dimensions["B"].width = 18
        for cell in sheet["B"][1:]:
            cell.number_format = "#,##0.00" if "." in str(cell.value) else "#,##0"

"""Tables of a cost account as data: what a page shows, a paper prints and a workbook holds."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from config.figures import Figure, Formula
from materials.money import from_minor, show_bare, show_money


@dataclass(frozen=True)
class Cell:
    """`text` as it is read, `number` as it is added up; `url` leads to the lines behind it, and a
    `figure` opens to how it was reached."""

    text: str
    number: Decimal | int | None = None
    url: str = ""
    figure: Figure | None = None
    is_number: bool = True


@dataclass(frozen=True)
class CostRow:
    """`url` is the page of what the row is about; `width` that of its bar, in percent of the
    longest, where the table has bars."""

    label: str
    cells: tuple[Cell, ...]
    url: str = ""
    width: float | None = None
    hatch: str = "hatch"
    total: bool = False


@dataclass(frozen=True)
class Line:
    row: CostRow
    told: tuple[tuple[str, Cell], ...]


@dataclass(frozen=True)
class CostTable:
    """`words` is the short name in the line of contents and on the sheet of the workbook; `notes`
    stand below the table, and `formulas` are told in words where nothing can be opened."""

    slug: str
    title: str
    words: str
    head: str
    columns: tuple[str, ...]
    rows: tuple[CostRow, ...]
    bars: bool = False
    notes: tuple[str, ...] = ()
    formulas: tuple[Formula, ...] = ()

    @property
    def lines(self) -> list[Line]:
        """The rows, each cell with the head of its column."""
        return [Line(row, tuple(zip(self.columns, row.cells, strict=True))) for row in self.rows]


def money_cell(
    minor: int | None,
    currency: str,
    url: str = "",
    figure: Figure | None = None,
    unknown: str = "not known",
    named: bool = False,
) -> Cell:
    """`named` writes the currency too, as a total does."""
    if minor is None:
        return Cell(unknown, is_number=False)
    text = show_money(minor, currency) if named else show_bare(minor, currency)
    return Cell(text, from_minor(minor, currency), url, figure)


def count_cell(count: int, url: str = "") -> Cell:
    return Cell(f"{count:,}", count, url)


def word_cell(text: str) -> Cell:
    return Cell(text, is_number=False)

"""Years of a price index from a file of two columns, `year,value`, every row judged."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

FIRST_YEAR, LAST_YEAR = 1800, 2200
MOST_BYTES, MOST_ROWS = 200_000, 1000
PLACES = Decimal("0.0001")
MOST = Decimal(10) ** 8
EXAMPLE = "2015,237.017"


@dataclass(frozen=True)
class ReadYears:
    """What a file holds; `wrong` is one sentence for each row that cannot be taken."""

    years: Mapping[int, Decimal]
    wrong: tuple[str, ...]


def read_years(data: bytes) -> ReadYears:
    """A line for each year, apart by comma, semicolon or tab; heads and empty lines are passed
    over. A decimal comma is read where the columns are apart by semicolon or tab, or where it
    stands in quotes. Figures are kept to four digits after the point."""
    if len(data) > MOST_BYTES:
        return _refused(
            "This file is too large for a list of years. Check that it is the right one."
        )
    if data.startswith(b"PK"):
        return _refused("This is a workbook. Save its sheet as CSV, and load that.")
    text = _decoded(data)
    if "\0" in text:
        return _refused(f"This is not a text file. Write one line for each year: {EXAMPLE}.")
    try:
        rows = list(_rows(text))
    except csv.Error:
        return _refused(
            f"This file cannot be read as CSV. Write one line for each year: {EXAMPLE}."
        )
    if len(rows) > MOST_ROWS:
        return _refused(
            f"This file has more than {MOST_ROWS:,} lines. Load one line for each year."
        )
    return _judged(rows)


def _refused(sentence: str) -> ReadYears:
    return ReadYears({}, (sentence,))


def _decoded(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Each line that says something, with its number; the line of heads is left out."""
    delimiter = next((sign for sign in ";\t" if sign in text), ",")
    reader = csv.reader(text.splitlines(), delimiter=delimiter)
    first = True
    for cells in reader:
        row = [" ".join(cell.split()) for cell in cells]
        while row and not row[-1]:
            row.pop()
        if not row:
            continue
        if not (first and not re.search(r"\d", row[0])):
            yield reader.line_num, row
        first = False


def _judged(rows: list[tuple[int, list[str]]]) -> ReadYears:
    years: dict[int, Decimal] = {}
    found_in: dict[int, int] = {}
    wrong = []
    for number, row in rows:
        try:
            year, value = _year_and_value(row)
        except ValueError as error:
            wrong.append(f"Line {number}: {error}")
            continue
        if years.setdefault(year, value) != value:
            wrong.append(
                f"Line {number}: {year} already stands in line {found_in[year]} with another "
                "figure. Keep one of the two."
            )
        found_in.setdefault(year, number)
    if not rows:
        wrong.append(f"The file holds no year. Write one line for each year: {EXAMPLE}.")
    return ReadYears(years, tuple(wrong))


def _year_and_value(row: list[str]) -> tuple[int, Decimal]:
    if len(row) == 3 and row[1].isdigit() and row[2].isdigit():
        raise ValueError(
            "this has three parts. Where figures have a decimal comma, part year and figure by a "
            f"semicolon: {row[0][:10]};{row[1][:10]},{row[2][:10]}."
        )
    if len(row) != 2:
        raise ValueError(f"a line has a year and a figure, such as {EXAMPLE}.")
    return read_year(row[0]), read_value(row[1])


def read_year(text: str) -> int:
    """A year from 1800 to 2200, else ValueError with a sentence that goes on after a colon."""
    if not re.fullmatch(r"\d{4}", text, re.ASCII):
        raise ValueError(f"“{text[:20]}” is not a year. Write it in four digits, such as 2015.")
    if not FIRST_YEAR <= int(text) <= LAST_YEAR:
        raise ValueError(f"{text} is out of reach. A year is from {FIRST_YEAR} to {LAST_YEAR}.")
    return int(text)


def read_value(text: str) -> Decimal:
    """A figure above zero, with a point or a comma before its decimals."""
    written = re.sub(r"(?<=\d)[ '’](?=\d{3}(?!\d))", "", text.strip())
    if not re.fullmatch(r"\d{1,15}([.,]\d{1,20})?", written, re.ASCII):
        raise ValueError(f"“{text[:20]}” is not a figure. Write it like 237.017.")
    value = Decimal(written.replace(",", ".")).quantize(PLACES, ROUND_HALF_UP)
    if not 0 < value < MOST:
        raise ValueError(f"“{text[:20]}” is out of reach. An index is above 0 and below {MOST:,}.")
    return value

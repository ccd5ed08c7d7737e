"""Counting on from one mark to the next: S-SILL-03, S-SILL-04."""

from __future__ import annotations

import re
from collections.abc import Collection

COUNTED = re.compile(r"(.*?)([0-9]+)([^0-9]*)", re.DOTALL)


def next_mark(mark: str) -> str:
    """The mark with its last number one higher, zeros in front kept; S-SILL becomes S-SILL-2."""
    found = COUNTED.fullmatch(mark)
    if not found:
        return f"{mark}-2"
    before, number, after = found.groups()
    return f"{before}{int(number) + 1:0{len(number)}}{after}"


def marks_from(first: str, count: int) -> list[str]:
    """So many marks, counted on from the first."""
    marks = [first]
    while len(marks) < count:
        marks.append(next_mark(marks[-1]))
    return marks


def next_free_mark(mark: str, taken: Collection[str]) -> str:
    """The next mark that no member in place has."""
    mark = next_mark(mark)
    while mark in taken:
        mark = next_mark(mark)
    return mark

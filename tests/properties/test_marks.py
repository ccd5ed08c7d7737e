"""Counting on from mark to mark."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.marks import marks_from, next_free_mark, next_mark


@pytest.mark.parametrize(
    ("mark", "after"),
    [
        ("N-SILL-03", "N-SILL-04"),
        ("S-SILL-09", "S-SILL-10"),
        ("S-SILL-99", "S-SILL-100"),
        ("S-2-03-SILL", "S-2-04-SILL"),
        ("W7a", "W8a"),
        ("PORCH", "PORCH-2"),
        ("عتبة-1", "عتبة-2"),
    ],
)
def test_the_last_number_counts_on(mark: str, after: str) -> None:
    assert next_mark(mark) == after


def test_marks_already_in_place_are_passed_over() -> None:
    assert next_free_mark("S-1", {"S-2", "S-3"}) == "S-4"


@given(st.text(min_size=1, max_size=30), st.integers(1, 60))
def test_as_many_marks_as_asked_for_and_none_twice(first: str, count: int) -> None:
    marks = marks_from(first, count)
    assert marks[0] == first
    assert len(set(marks)) == count

"""Cells of a download never become formulas."""

import pytest

from properties.exports import plain_cell


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@sum", "\t=1", "\r=1"])
def test_text_that_a_spreadsheet_would_compute_stays_text(text: str) -> None:
    assert plain_cell(text) == f"'{text}"


@pytest.mark.parametrize("value", ["Mill Row", "", 0, -5, None, "مطحنة"])
def test_other_cells_stay_as_they_are(value: object) -> None:
    assert plain_cell(value) == value


def test_control_characters_are_left_out() -> None:
    assert plain_cell("\x00=1\x1f") == "'=1"

"""Published and computed figures that calculations are checked against, one file per subject.

Each row names its source; `status` says whether it was read there (confirmed), worked out
(computed) or recalled (from-memory)."""

import csv
from pathlib import Path

FOLDER = Path(__file__).parent / "reference"


def published(name: str, quantity: str = "") -> list[dict[str, str]]:
    """The rows of a file whose quantity begins with a text."""
    with (FOLDER / f"{name}.csv").open(newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["quantity"].startswith(quantity)]
    assert rows, f"no such rows: {quantity}"
    return rows

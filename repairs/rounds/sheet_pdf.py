"""The round sheet as a PDF, with the newest photograph of each stop while the round is small.

It is set at once: 500 stops on 85 pages take about ten seconds and 230 MB (measured)."""

from __future__ import annotations

from collections.abc import Container
from typing import Any

from django.core.files.storage import default_storage
from django.template.loader import render_to_string

from properties.classes import (
    CONDITION_WORDS,
    EN_16096_STATUS,
    INTENSITY_WORDS,
    ISO_4628_SIZE_STATUS,
    ISO_4628_STATUS,
)
from repairs.history.pdf import SCHEME, print_pictures
from repairs.looks.ratings import NAMES, STANDARDS
from repairs.paper import pdf_from_html
from repairs.rounds.sheet import MOST_PICTURES, RoundSheet

RATED = ("flaking", "cracking", "blistering", "chalking")
# What a pencil rings, as plain lines with tabs: a box for each class takes half as long again.
RATING_LINES = (
    "Flaking\t0 1 2 3 4 5\tCracking\t0 1 2 3 4 5\nBlistering\t0 1 2 3 4 5\tChalking\t0 1 2 3 4 5\n"
)
EDGE_LINE = "Edge\ttight hairline open moving soft\n"
CONDITION_LINE = "Condition\t0 1 2 3\tMoisture\t………… %"
RESULTS = ("Sound", "Watch", "Redo", "Not reached")
STATUSES = (ISO_4628_STATUS, ISO_4628_SIZE_STATUS, EN_16096_STATUS)


def round_sheet_pdf(sheet: RoundSheet, made_by: str, paper: str) -> bytes:
    """Tagged, on A4 or US Letter; what is missing from the store is said and not drawn."""
    names = (stop.picture for group in sheet.groups for stop in group.rows if stop.picture)
    stored = print_pictures(names, default_storage)
    pictures = {f"{SCHEME}{name}": picture for name, picture in stored.items()}
    html = round_sheet_html(sheet, made_by, stored)
    return pdf_from_html(html, paper, pictures, also=("round-sheet.css",))


def round_sheet_html(sheet: RoundSheet, made_by: str, stored: Container[str] = ()) -> str:
    """The page before it is set; `stored` names the photographs that there are."""
    context: dict[str, Any] = {
        "sheet": sheet,
        "round": sheet.round,
        "made_by": made_by,
        "stored": stored,
        "most_pictures": MOST_PICTURES,
        "ratings": [(NAMES[name], STANDARDS[name]) for name in RATED],
        "classes": INTENSITY_WORDS.items(),
        "conditions": CONDITION_WORDS.items(),
        "rating_lines": RATING_LINES,
        "edge_line": EDGE_LINE,
        "condition_line": CONDITION_LINE,
        "results": RESULTS,
        "statuses": STATUSES,
    }
    return render_to_string("repairs/round_sheet.html", context)

"""The ratings of one look: their names, their standards, and a class said in words."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from properties.classes import (
    COATING_CHOICES,
    CROSS_CUT_CHOICES,
    CROSS_CUT_WORDS,
    intensity_in_words,
)

NAMES: Mapping[str, str] = {
    "flaking": "Flaking",
    "cracking": "Cracking",
    "blistering": "Blistering",
    "chalking": "Chalking",
    "cross_cut": "Cross-cut",
}
STANDARDS: Mapping[str, str] = {
    "flaking": "ISO 4628-5",
    "cracking": "ISO 4628-4",
    "blistering": "ISO 4628-2",
    "chalking": "ISO 4628-6",
    "cross_cut": "ISO 2409",
}
NOT_RECORDED = ("", "Not recorded")
NOT_APPLICABLE = ("na", "Not applicable")


def rating_choices(name: str) -> list[tuple[str, str]]:
    """Every class, after the two answers that are none."""
    classes = CROSS_CUT_CHOICES if name == "cross_cut" else COATING_CHOICES
    return [NOT_RECORDED, NOT_APPLICABLE, *classes]


def rating_in_words(name: str, value: Decimal) -> str:
    """'2.5, between slight and moderate'."""
    figure = f"{value:f}".removesuffix(".0")
    if name == "cross_cut":
        return f"{figure}, {CROSS_CUT_WORDS.get(figure, 'between two classes')}"
    words = intensity_in_words(value)
    return f"{figure}, {words.split(', ')[0]}"

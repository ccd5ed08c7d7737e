"""The ratings of one look: their names, their standards, and a class said in words."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from properties.classes import (
    COATING_CHOICES,
    CROSS_CUT_CHOICES,
    CROSS_CUT_WORDS,
    DEFECT_SIZE_CHOICES,
    DEFECT_SIZE_WORDS,
    FLAKE_SIZE_CHOICES,
    FLAKE_SIZE_WORDS,
    FLAKING_DEPTH_WORDS,
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
# What is told of a defect beside how much of it there is.
SIZES = ("flaking_size", "flaking_depth", "cracking_size", "blistering_size")
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


def size_choices(name: str) -> list[tuple[str, str]]:
    return [NOT_RECORDED, *(FLAKE_SIZE_CHOICES if name == "flaking" else DEFECT_SIZE_CHOICES)]


def size_in_words(name: str, size: str, depth: str = "") -> str:
    """'size S3, up to 10 mm, down to the wood'; empty where neither is recorded."""
    words = FLAKE_SIZE_WORDS if name == "flaking" else DEFECT_SIZE_WORDS
    told = [f"size {size}, {words[size]}"] if size else []
    return ", ".join([*told, FLAKING_DEPTH_WORDS[depth]] if depth else told)

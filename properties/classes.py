"""Classes of the open standards, each with its meaning in words.

Pairs of a value and 'value – meaning', ready to choose from. `…_STATUS` says how far the words
may be trusted: some standards were not read, only known by scope."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

Choices = list[tuple[str, str]]


def _choices(words: dict[str, str]) -> Choices:
    return [(value, f"{value} – {meaning}") for value, meaning in words.items()]


CONDITION_WORDS = {
    "CC0": "no symptoms",
    "CC1": "minor symptoms",
    "CC2": "moderately strong symptoms",
    "CC3": "major symptoms",
}
URGENCY_WORDS = {
    "UC0": "long term",
    "UC1": "intermediate term",
    "UC2": "short term",
    "UC3": "urgent and immediate",
}
RECOMMENDATION_WORDS = {
    "RC0": "no measures",
    "RC1": "maintenance or preventive conservation",
    "RC2": "moderate repair or further investigation",
    "RC3": "major intervention based on diagnosis",
}
CONDITION_CHOICES = _choices(CONDITION_WORDS)
URGENCY_CHOICES = _choices(URGENCY_WORDS)
RECOMMENDATION_CHOICES = _choices(RECOMMENDATION_WORDS)
EN_16096_STATUS = (
    "EN 16096:2012: scope read; class words from memory, to be checked against the standard"
)

USE_CLASS_WORDS = {
    "1": "inside, not exposed to weather or wetting",
    "2": "under cover, occasional wetting by high humidity",
    "3.1": "above ground, exposed to weather, wet for limited times",
    "3.2": "above ground, exposed to weather, wet for long times",
    "4": "in contact with ground or fresh water",
    "5": "permanently or regularly in salt water",
}
USE_CLASS_CHOICES = _choices(USE_CLASS_WORDS)
EN_335_STATUS = (
    "EN 335:2013: class 1 read, 2 to 5 read in summaries, the words of 3.1 and 3.2 from memory"
)

INTENSITY_WORDS = {
    "0": "none, unchanged",
    "1": "very slight, just perceptible",
    "2": "slight, clearly perceptible",
    "3": "moderate, very clearly perceptible",
    "4": "considerable, pronounced",
    "5": "severe",
}
ISO_4628_STATUS = (
    "ISO 4628-1:2016: scale and half steps read; the words of each class read in a translated "
    "secondary text"
)

# How large the single blisters or cracks are; flakes are larger, and have steps of their own.
DEFECT_SIZE_WORDS = {
    "S0": "not visible at 10 times",
    "S1": "visible only at up to 10 times",
    "S2": "just visible with the naked eye",
    "S3": "clearly visible, up to 0.5 mm",
    "S4": "0.5 to 5 mm",
    "S5": "over 5 mm",
}
FLAKE_SIZE_WORDS = {
    "S0": "not visible at 10 times",
    "S1": "up to 1 mm",
    "S2": "up to 3 mm",
    "S3": "up to 10 mm",
    "S4": "up to 30 mm",
    "S5": "over 30 mm",
}
FLAKING_DEPTH_WORDS = {"coats": "between coats", "wood": "down to the wood"}
DEFECT_SIZE_CHOICES = _choices(DEFECT_SIZE_WORDS)
FLAKE_SIZE_CHOICES = _choices(FLAKE_SIZE_WORDS)
ISO_4628_SIZE_STATUS = (
    "ISO 4628-1:2016, Table 2, and the sizes of flakes in part 5: from memory, to be checked "
    "against the standard; that part 5 records quantity, size and depth was read"
)

CROSS_CUT_WORDS = {
    "0": "nothing detached",
    "1": "under 5 % of the lattice detached",
    "2": "5 to 15 % detached",
    "3": "15 to 35 % detached",
    "4": "35 to 65 % detached",
    "5": "over 65 % detached",
}
CROSS_CUT_CHOICES = _choices(CROSS_CUT_WORDS)
ISO_2409_STATUS = (
    "ISO 2409:2020: six steps read; areas from a table of ASTM D3359, matched to the classes "
    "from memory"
)


@dataclass(frozen=True)
class Durability:
    """EN 350 against fungi, heartwood only: 1 very durable to 5 not durable. Sapwood of every
    species counts as 5. A class promises no life in service."""

    species: str
    best: int
    worst: int

    def __str__(self) -> str:
        classes = str(self.best) if self.best == self.worst else f"{self.best} to {self.worst}"
        return f"{classes} ({DURABILITY_WORDS[self.worst]})"


DURABILITY_WORDS = {
    1: "very durable",
    2: "durable",
    3: "moderately durable",
    4: "slightly durable",
    5: "not durable",
}
DURABILITIES = (
    Durability("ash", 5, 5),
    Durability("birch", 5, 5),
    Durability("Douglas-fir (grown in Europe)", 3, 4),
    Durability("Douglas-fir (North America)", 3, 3),
    Durability("larch", 4, 4),
    Durability("oak", 2, 4),
    Durability("Scots pine", 3, 4),
    Durability("teak (Asia)", 1, 1),
    Durability("teak (plantation)", 1, 3),
    Durability("yew", 2, 2),
)
EN_350_STATUS = (
    "EN 350:2016 as tabulated by the Nordic Wood Preservation Council (secondary); the words of "
    "classes 2 to 4 from memory"
)


def durability_of(species: str) -> Durability | None:
    """By the name as in the table, whatever its case; None for a species not in it."""
    wanted = species.strip().casefold()
    return next((each for each in DURABILITIES if each.species.casefold() == wanted), None)


def intensity_in_words(rating: Decimal) -> str:
    """An ISO 4628 rating, 0 to 5 in half steps, in words; else ValueError."""
    doubled = rating * 2
    if not 0 <= rating <= 5 or doubled != int(doubled):
        raise ValueError("a rating runs from 0 to 5 in half steps")
    below = int(rating)
    if rating == below:
        return INTENSITY_WORDS[str(below)]
    lower, upper = (INTENSITY_WORDS[str(each)].split(",")[0] for each in (below, below + 1))
    return f"between {lower} and {upper}"


COATING_CHOICES: Choices = [
    (f"{half:f}", f"{half:f} – {intensity_in_words(half)}")
    for half in (Decimal(step) / 2 for step in range(11))
]

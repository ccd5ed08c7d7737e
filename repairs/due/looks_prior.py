"""How often to look at a member of which nothing is known yet but where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from config.figures import Formula
from properties.classes import USE_CLASS_WORDS
from properties.decay_hazard import DecayHazard

Level = Literal["low", "moderate", "high"]

# Months between looks; inside the weather does not count, on the ground the climate is no comfort.
_MONTHS: dict[str, dict[Level, int]] = {
    "1": {"low": 36, "moderate": 36, "high": 36},
    "2": {"low": 24, "moderate": 24, "high": 12},
    "3.1": {"low": 24, "moderate": 12, "high": 12},
    "3.2": {"low": 12, "moderate": 12, "high": 6},
    "4": {"low": 6, "moderate": 6, "high": 6},
    "5": {"low": 6, "moderate": 6, "high": 6},
}
_USUAL_MONTHS = 12

SOURCE = (
    "months: common practice, no source; classes: EN 335 for use, Scheffer’s index for the climate"
)
PRIOR = Formula(
    words="From the use class of the wood and how far the climate favours decay: the wetter it "
    "stands and the higher the hazard, the sooner. Wood on the ground, in fresh or in salt water "
    "counts as high whatever the climate. Where the hazard is not known, moderate is taken; where "
    "the use class is not, a year.",
    symbols="low / moderate / high, in months: class 1: 36/36/36; 2: 24/24/12; 3.1: 24/12/12; "
    "3.2: 12/12/6; 4 and 5: 6/6/6",
    source=SOURCE,
    holds="until a member has results of its own; it changes no due date",
)


@dataclass(frozen=True)
class Prior:
    """Months between two looks, to begin with."""

    months: int
    words: str
    source: str


def looks_prior(use_class: str, hazard: DecayHazard | None) -> Prior:
    """How often to look for want of results: by use class of EN 335 ('1' to '5', empty where not
    recorded) and decay hazard of the place (None where not known).

    Any other class raises ValueError. Common practice, no source; nothing stored is changed."""
    climate = "hazard of the place not known" if hazard is None else f"decay hazard {hazard.level}"
    if not use_class:
        return Prior(_USUAL_MONTHS, f"use class not recorded, {climate}", SOURCE)
    if use_class not in _MONTHS:
        raise ValueError(f"use class one of {', '.join(_MONTHS)}")
    months = _MONTHS[use_class][hazard.level if hazard else "moderate"]
    words = f"use class {use_class} ({USE_CLASS_WORDS[use_class]}), {climate}"
    return Prior(months, words, SOURCE)

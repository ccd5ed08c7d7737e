"""How long wet wood takes to dry in the open air: a rough guide, never a date."""

from __future__ import annotations

import math
from dataclasses import dataclass

from config.figures import Formula
from properties.wood_water import emc_pct

# The rule of the trade, a year for each 25 mm, read as: sawn fresh, to air-dry, in usual air.
DAYS_PER_MM = 365 / 25
FRESH_PCT, AIR_DRY_PCT, USUAL_EMC_PCT = 60.0, 20.0, 15.0
DRIEST_PCT = 5.0
# Softwood in a warm dry season beats the rule by far; how far is nobody's rule.
FASTEST = 0.25

RULE_OF_A_YEAR = Formula(
    words="Air dries a piece about 25 mm thick in a year, and its moisture nears what the air "
    "keeps it at ever more slowly. The long end is that rule, the short end a quarter of it. "
    "Thickness counts from face to face; where one face only is open, count it twice.",
    symbols="days = 365 · thickness/25 mm · ln[(from − EMC)/(to − EMC)] / ln[(60 − 15)/(20 − 15)]",
    source="common practice, no source; that wood stacked in autumn stays wet until spring: Forest "
    "Products Laboratory, Technical Note 233 (1960)",
    holds="from 1 to 300 mm of thickness, as a rough guide only: measure before the next stage",
)


@dataclass(frozen=True)
class DryingGuide:
    """Days from the soonest to the latest; both None where the air never lets it get there."""

    days_low: float | None
    days_high: float | None
    emc_pct: float
    possible: bool
    basis: str


def drying_guide(
    from_pct: float, to_pct: float, thickness_mm: float, air_c: float, humidity_pct: float
) -> DryingGuide:
    """Roughly how many days in air that stays as it is, from one moisture to another, in % of
    oven-dry mass; 0 days where it is dry enough already.

    From 0 to 200 %, to 5 to 200 %, thickness 1 to 300 mm, the air as `emc_pct`, else ValueError.
    Good to a factor of four at best, as its range says. Common practice, no source."""
    _within(from_pct, 0, 200, "moisture now from 0 to 200 %")
    _within(to_pct, DRIEST_PCT, 200, f"moisture wanted from {DRIEST_PCT:g} to 200 %")
    _within(thickness_mm, 1, 300, "thickness from 1 to 300 mm")
    held_at = emc_pct(air_c, humidity_pct)
    if from_pct <= to_pct:
        return DryingGuide(0.0, 0.0, held_at, True, "Dry enough already.")
    if to_pct <= held_at:
        return DryingGuide(
            None,
            None,
            held_at,
            False,
            f"It cannot get there: the air keeps it at {held_at:.1f} %. Warm it, or dry the air.",
        )
    way = math.log((from_pct - held_at) / (to_pct - held_at))
    usual_way = math.log((FRESH_PCT - USUAL_EMC_PCT) / (AIR_DRY_PCT - USUAL_EMC_PCT))
    latest = DAYS_PER_MM * thickness_mm * way / usual_way
    return DryingGuide(
        latest * FASTEST,
        latest,
        held_at,
        True,
        f"Rough, common practice, no source. The air keeps it at {held_at:.1f} %; rain and frost "
        "are not reckoned with. Measure before the next stage.",
    )


def _within(value: float, low: float, high: float, sentence: str) -> None:
    if not low <= value <= high:
        raise ValueError(sentence)

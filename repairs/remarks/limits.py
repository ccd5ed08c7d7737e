"""The limits that hold where a data sheet is silent, each with its source, and the cautions."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Limit:
    value: Decimal
    unit: str
    source: str


DEFAULT_LIMITS = MappingProxyType(
    {
        "ratio_tolerance_pct": Limit(Decimal(5), "%", PRACTICE),
        "moisture_flag_pct": Limit(
            Decimal(15), "%", f"{PRACTICE}: 12, 15, 18 and 20 % are all in print"
        ),
        "moisture_hold_pct": Limit(
            Decimal(18), "%", f"{PRACTICE}: 12, 15, 18 and 20 % are all in print"
        ),
        "filler_layer_max_mm": Limit(Decimal(25), "mm", PRACTICE),
        "resin_min_c": Limit(Decimal(10), "°C", f"{PRACTICE}: many resins stall below 10 °C"),
        "coating_min_c": Limit(
            Decimal(4),
            "°C",
            "Wood Handbook FPL-GTR-190 (2010), chapter 16: oil paint 4 °C, water-borne paint 10 °C",
        ),
        "coating_night_min_c": Limit(
            Decimal(10),
            "°C",
            "Wood Handbook FPL-GTR-190 (2010), chapter 16: water-borne paint stays at 10 °C or "
            "more for 24 h; oil paint from 4 °C",
        ),
        "coating_humidity_max_pct": Limit(
            Decimal(85), "%", "coating practice after ISO 8502-4 and ISO 12944-7, for steel"
        ),
        "dry_before_h": Limit(
            Decimal(4), "h", f"{PRACTICE}; the moisture meter decides whether the wood is dry"
        ),
        "dry_after_h": Limit(Decimal(4), "h", PRACTICE),
        "dew_free_after_h": Limit(Decimal(2), "h", f"{PRACTICE}: stop painting 2 h before dew"),
        "repairs_on_one_spot": Limit(Decimal(2), "repairs", PRACTICE),
    }
)

# Year of the ban, by ISO 3166-1 code, for a property that names none.
LEAD_BANS = MappingProxyType(
    {
        "US": Limit(Decimal(1978), "year", "US EPA, 40 CFR 745: housing built before 1978"),
        "GB": Limit(
            Decimal(1992),
            "year",
            "Environmental Protection (Controls on Injurious Substances) Regulations 1992",
        ),
    }
)
LATEST_LEAD_BAN = Limit(
    Decimal(1992), "year", "no ban year recorded for this place; the latest one known is taken"
)

RESIN_CAUTION = (
    "Uncured resin and hardener can make the skin allergic for life, and so can the dust of resin "
    "not fully cured. Wear the gloves that the safety data sheet names, keep the air moving, and "
    "sand only what has cured, with extraction. The maker's safety data sheet rules."
)
LEAD_CAUTION = (
    "Paint from before the local lead-paint ban: presume lead. No dry sanding, no torch; keep dust "
    "in and people out, and follow the local law."
)
HEIGHT_CAUTION = "Working at height: use the access that the elevation asks for, in good order."
LOAD_CAUTION = (
    "This member carries load, or nobody knows whether it does: a licensed engineer decides. "
    "These records do not say that it is safe."
)
DUST_CAUTION = "Wood dust and paint dust harm the lungs: extract it at the tool and wear a mask."


def cautions_for(
    *, resin: bool, old_paint: bool, load_bearing: str, at_height: bool, dust: bool
) -> tuple[str, ...]:
    """The cautions to show beside a piece of work. `old_paint`: from before the ban, or of a year
    not known. `load_bearing`: yes, no or unknown."""
    asked = (
        (load_bearing != "no", LOAD_CAUTION),
        (old_paint, LEAD_CAUTION),
        (resin, RESIN_CAUTION),
        (dust, DUST_CAUTION),
        (at_height, HEIGHT_CAUTION),
    )
    return tuple(words for applies, words in asked if applies)

"""Months in dates, and one rule as the rule set begins with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Literal

from dateutil.relativedelta import relativedelta

DueKind = Literal["repair_look", "coating_look", "repaint", "member_look"]

PRACTICE = "common practice, no source"
WOOD_HANDBOOK = "Wood Handbook FPL-GTR-190 (2010), Table 16-5"
NPS_47 = "NPS Preservation Brief 47"
NPS_10 = "NPS Preservation Brief 10"


@lru_cache(maxsize=1 << 16)  # a series walks the same days again and again
def add_months(day: date, months: int) -> date:
    """The same day some months on; a month that is too short ends it on its last day.

    31 August and 6 months give 28 February; 29 February and 12 months give 28 February. Months
    may be negative. Raises ValueError past the years 1 to 9999."""
    return day + relativedelta(months=months)


@dataclass(frozen=True, kw_only=True)
class DefaultRule:
    """One rule as the rule set begins with it; the fields are those of the rule in the records.
    Empty conditions fit every member; of one kind the first that fits holds. First steps in
    months from the day of the work, then every `then_months`; `from_done` counts on from the day
    of each look, else the season of the first day is kept."""

    code: str
    kind: DueKind
    then_months: int
    words: str
    source: str
    temporary: bool | None = None
    member_kind: str = ""
    finish: str = ""
    exposure: str = ""
    use_class: str = ""
    climate: str = ""
    worst_condition: str = ""
    age_from_years: int | None = None
    first_months: tuple[int, ...] = ()
    seasons: tuple[str, ...] = ()
    frost_free: bool = False
    from_done: bool = False
    window_days: int = 14
    repaint_at: int | None = None
    latest_months: int | None = None
    in_force: bool = True

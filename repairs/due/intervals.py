"""How often to look and to repaint: the rules that the rule set begins with, and months in dates.

A rule's days follow from `repairs.due.series`; a person may change any rule afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from dateutil.relativedelta import relativedelta

DueKind = Literal["repair_look", "coating_look", "repaint", "member_look"]

PRACTICE = "common practice, no source"
WOOD_HANDBOOK = "Wood Handbook FPL-GTR-190 (2010), Table 16-5"
NPS_47 = "NPS Preservation Brief 47, inspection table"


def add_months(day: date, months: int) -> date:
    """The same day some months on; a month that is too short ends it on its last day.

    31 August and 6 months give 28 February; 29 February and 12 months give 28 February. Months
    may be negative. Raises ValueError past the years 1 to 9999."""
    return day + relativedelta(months=months)


@dataclass(frozen=True)
class RepaintYears:
    low: int
    high: int
    source: str

    @property
    def planned_months(self) -> int:
        """Planned at the low end of the range: a choice, so that nobody plans on a promise."""
        return self.low * 12


# Vertical wood under good practice, and what severe faces or flat tops get.
_ON_VERTICAL = {
    "water_repellent": (1, 3),
    "tinted_clear": (2, 3),
    "semitransparent_stain": (4, 8),
    "solid_stain": (6, 15),
    "paint": (10, 20),
}
_SEVERE = {
    "water_repellent": (1, 1),
    "tinted_clear": (1, 2),
    "semitransparent_stain": (2, 4),
    "solid_stain": (4, 8),
    "paint": (3, 8),
}
FINISHES = tuple(_ON_VERTICAL)
EXPOSURES = ("sheltered", "partly", "severe")


def repaint_years(finish: str, exposure: str) -> RepaintYears | None:
    """How long a finish lasts, in years; None for a finish or an exposure not known.

    Sheltered: the range of Wood Handbook Table 16-5, for vertical wood finished by good practice.
    Severe (south or west, coast, or lying flat): common practice, no source. Partly exposed: from
    the low end of the severe range to the low end of the table's, a choice, no source."""
    if finish not in _ON_VERTICAL or exposure not in EXPOSURES:
        return None
    table, severe = _ON_VERTICAL[finish], _SEVERE[finish]
    if exposure == "sheltered":
        return RepaintYears(*table, f"{WOOD_HANDBOOK}, vertical wood and good practice")
    if exposure == "severe":
        return RepaintYears(*severe, f"severe exposure: {PRACTICE}")
    low = (severe[0] + table[0]) // 2
    return RepaintYears(
        low, table[0], f"between the severe range ({PRACTICE}) and the low end of {WOOD_HANDBOOK}"
    )


@dataclass(frozen=True)
class DefaultRule:
    """One rule as the rule set begins with it. Empty conditions fit every member; of one kind the
    first that fits holds, so that the particular stands before the general. First steps in
    months from the day of the work, then every `then_months`; `from_done` counts on from the
    day of each look, else the season of the first day is kept."""

    code: str
    kind: DueKind
    first_months: tuple[int, ...]
    then_months: int
    words: str
    source: str
    temporary: bool | None = None
    finish: str = ""
    exposure: str = ""
    member_kind: str = ""
    from_done: bool = False
    window_days: int = 14


LOOK_RULES = (
    DefaultRule(
        "repair-look",
        "repair_look",
        (1, 6),
        12,
        "1 month and 6 months after the repair, then yearly",
        PRACTICE,
        temporary=False,
    ),
    DefaultRule(
        "temporary-repair-look",
        "repair_look",
        (),
        3,
        "Every 3 months until the lasting repair",
        PRACTICE,
        temporary=True,
        from_done=True,
        window_days=7,
    ),
    DefaultRule(
        "coating-look",
        "coating_look",
        (),
        12,
        "Coating: a look every year",
        f"{NPS_47}: walls, porches and windows yearly",
        window_days=30,
    ),
    DefaultRule(
        "door-look",
        "member_look",
        (),
        6,
        "Door: a look every 6 months",
        f"{NPS_47}: doors every 6 months",
        member_kind="door",
        window_days=30,
    ),
    DefaultRule(
        "member-look",
        "member_look",
        (),
        12,
        "Member: a look every year",
        f"{NPS_47}: walls, porches and windows yearly",
        window_days=30,
    ),
)

_FINISH_WORDS = {
    "water_repellent": "Water-repellent preservative",
    "tinted_clear": "Tinted clear finish",
    "semitransparent_stain": "Semitransparent stain",
    "solid_stain": "Solid-colour stain",
    "paint": "Paint",
}
_EXPOSURE_WORDS = {
    "sheltered": "sheltered",
    "partly": "partly exposed",
    "severe": "severe exposure",
}


def _every(years: int) -> str:
    return "every year" if years == 1 else f"every {years} years"


def _repaint_rule(finish: str, exposure: str) -> DefaultRule:
    years = repaint_years(finish, exposure)
    assert years is not None
    span = "1 year" if years.high == 1 else f"{years.low} to {years.high} years"
    return DefaultRule(
        f"repaint-{finish}-{exposure}".replace("_", "-"),
        "repaint",
        (),
        years.planned_months,
        f"{_FINISH_WORDS[finish]}, {_EXPOSURE_WORDS[exposure]}: lasts {span}; planned at the low "
        f"end, {_every(years.low)}",
        years.source,
        finish=finish,
        exposure=exposure,
        from_done=True,
        window_days=90,
    )


def _repaint_rule_unknown(finish: str) -> DefaultRule:
    years = repaint_years(finish, "partly")
    assert years is not None
    return DefaultRule(
        f"repaint-{finish}".replace("_", "-"),
        "repaint",
        (),
        years.planned_months,
        f"{_FINISH_WORDS[finish]}, exposure not recorded: planned as partly exposed, "
        f"{_every(years.low)}",
        years.source,
        finish=finish,
        from_done=True,
        window_days=90,
    )


REPAINT_RULES = (
    *(_repaint_rule(finish, exposure) for finish in FINISHES for exposure in EXPOSURES),
    *(_repaint_rule_unknown(finish) for finish in FINISHES),
)
DEFAULT_RULES = (*LOOK_RULES, *REPAINT_RULES)


def default_places() -> dict[str, int]:
    """Where each default rule stands among those of its kind, by its code: in steps of ten, so
    that a person's own rule finds room between two."""
    places: dict[str, int] = {}
    for kind in {rule.kind for rule in DEFAULT_RULES}:
        of_kind = [rule for rule in DEFAULT_RULES if rule.kind == kind]
        places |= {rule.code: 10 * at for at, rule in enumerate(of_kind, start=1)}
    return places

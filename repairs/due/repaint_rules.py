"""How long finishes last, and the rules for repaints that the rule set begins with."""

from __future__ import annotations

from dataclasses import dataclass

from repairs.due.intervals import NPS_10, NPS_47, PRACTICE, WOOD_HANDBOOK, DefaultRule

# Painted out of frost, and looked over before winter: common practice, no source.
PAINTING_SEASONS = ("spring", "summer", "autumn")
# At this class of flaking, cracking or blistering (ISO 4628) it is painted: common practice.
REPAINT_AT = 3


@dataclass(frozen=True)
class RepaintYears:
    low: int
    high: int
    source: str
    planned: int | None = None

    @property
    def planned_months(self) -> int:
        """Planned at the low end of the range unless said otherwise: a choice, so that nobody
        plans on a promise."""
        return 12 * (self.planned or self.low)

    @property
    def latest_months(self) -> int:
        """However good the ratings, painted by the high end of the range."""
        return self.high * 12


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
WINDOWS = RepaintYears(5, 7, f"{NPS_47}: windows and shutters")
# Flat wood and end grain that people walk on or that holds water.
ENDS = RepaintYears(1, 3, f"{PRACTICE}; {NPS_47}: ends of porch boards every year or two", 2)
HISTORIC = RepaintYears(5, 8, f"{NPS_10}: exterior paint of historic woodwork")


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


def _lasts(years: RepaintYears) -> str:
    span = "1 year" if years.high == 1 else f"{years.low} to {years.high} years"
    at = "in the middle" if years.planned else "at the low end"
    return f"lasts {span}; planned {at}, {_every(years.planned_months // 12)}"


def _rule(
    code: str, years: RepaintYears, words: str, finish: str, exposure: str = "",
    member_kind: str = "", in_force: bool = True,
) -> DefaultRule:  # fmt: skip
    return DefaultRule(
        code=f"repaint-{code}".replace("_", "-"),
        kind="repaint",
        member_kind=member_kind,
        finish=finish,
        exposure=exposure,
        then_months=years.planned_months,
        from_done=True,
        seasons=PAINTING_SEASONS,
        frost_free=True,
        window_days=60,
        repaint_at=REPAINT_AT,
        latest_months=years.latest_months,
        words=words,
        source=years.source,
        in_force=in_force,
    )


def _by_exposure(finish: str, exposure: str) -> DefaultRule:
    years = repaint_years(finish, exposure)
    assert years is not None
    words = f"{_FINISH_WORDS[finish]}, {_EXPOSURE_WORDS[exposure]}: {_lasts(years)}"
    return _rule(f"{finish}-{exposure}", years, words, finish, exposure)


def _exposure_unknown(finish: str) -> DefaultRule:
    years = repaint_years(finish, "partly")
    assert years is not None
    words = (
        f"{_FINISH_WORDS[finish]}, exposure not recorded: planned as partly exposed, "
        f"{_every(years.low)}"
    )
    return _rule(finish, years, words, finish)


def _ends(kind: str, name: str) -> DefaultRule:
    words = f"Paint on a {name}, severe exposure: {_lasts(ENDS)}"
    return _rule(f"paint-{kind}-severe", ENDS, words, "paint", "severe", kind)


def _window(kind: str, name: str, exposure: str) -> DefaultRule:
    words = f"Paint on a {name}, {_EXPOSURE_WORDS[exposure]}: {_lasts(WINDOWS)}"
    return _rule(f"paint-{kind}-{exposure}", WINDOWS, words, "paint", exposure, kind)


# The table of the Wood Handbook and this brief disagree; who looks after historic woodwork puts
# this one into force, and it stands above the others.
_HISTORIC = _rule(
    "paint-historic", HISTORIC, f"Paint on historic woodwork: {_lasts(HISTORIC)}", "paint",
    in_force=False,
)  # fmt: skip
REPAINT_RULES = (
    *(_ends(kind, name) for kind, name in (
        ("sill", "sill"), ("threshold", "threshold"), ("handrail", "handrail"))),
    _HISTORIC,
    *(_window(kind, name, exposure) for kind, name in (
        ("sash", "sash"), ("window_frame", "window frame"))
      for exposure in ("sheltered", "partly")),
    *(_by_exposure(finish, exposure) for finish in FINISHES for exposure in EXPOSURES),
    *(_exposure_unknown(finish) for finish in FINISHES),
)  # fmt: skip

"""How long repairs last, for page, PDF and workbook alike: one group, or two beside each other."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from config.figures import Figure, figure
from repairs.lives.rows import Asked, Ending, Gathered, RepairLife, gather
from repairs.lives.words import (
    band_words,
    capital,
    how_many,
    median_band,
    median_words,
    p_in_words,
    share_in_words,
    years_in_words,
)
from repairs.models.repairs import RepairQuerySet
from repairs.survival import (
    LOG_RANK,
    MEDIAN_LIFE,
    SHARE_STILL_SOUND,
    LogRank,
    Survival,
    log_rank,
    survival,
)

MOST_ROWS = 12
YEAR_STEPS = (0.25, 0.5, 1, 2, 5, 10, 20, 50)
CAVEAT = (
    "This shows that the two lasted unlike, or not; it does not show why. Repairs are not dealt "
    "out by lot: what differs between the groups besides, such as place, timber or the worker, "
    "may be the cause."
)


@dataclass(frozen=True)
class Chosen:
    """Which repairs make a group; empty takes all. Product and crew are compared as text."""

    kind: str = ""
    exposure: str = ""
    product: str = ""
    crew: str = ""

    def asked(self, but: str = "") -> list[tuple[str, str]]:
        """What is asked of a life, whatever its value of the one thing named `but`."""
        names = ("kind", "exposure", "product", "crew")
        return [
            (name, getattr(self, name)) for name in names if name != but and getattr(self, name)
        ]


@dataclass(frozen=True)
class Against:
    """The one thing in which the second group differs, and both groups' names for it."""

    name: str
    value: str
    first_words: str
    words: str


@dataclass(frozen=True)
class Group:
    name: str
    lives: tuple[RepairLife, ...]
    survival: Survival

    @property
    def median_words(self) -> str:
        return median_words(self.survival)

    def endings(self) -> list[tuple[str, int]]:
        """How its lives stand, in a fixed order, without what there is none of."""
        counts = Counter(life.ending for life in self.lives)
        order = [value for name, value in vars(Ending).items() if name.isupper() and counts[value]]
        return [(ending, counts[ending]) for ending in order]


@dataclass(frozen=True)
class RiskCell:
    """One group after so many years; `share` is empty past what was observed."""

    share: Figure | None
    band: str
    at_risk: int


@dataclass(frozen=True)
class RiskRow:
    years: float
    cells: tuple[RiskCell, ...]

    @property
    def words(self) -> str:
        return years_in_words(self.years)


@dataclass(frozen=True)
class LivesReport:
    on: date
    what: str
    groups: tuple[Group, ...]
    rows: tuple[RiskRow, ...]
    compared: LogRank | None
    temporary: int
    undated: int

    @property
    def lead(self) -> str:
        return " ".join(_lead(group, self.what) for group in self.groups)

    @property
    def has_curve(self) -> bool:
        return any(group.survival.is_enough for group in self.groups)

    @property
    def left_out(self) -> str:
        told = []
        if self.temporary:
            told.append(f"{how_many(self.temporary, 'temporary repair')}")
        if self.undated:
            told.append(f"{how_many(self.undated, 'failure')} on a day that nobody recorded")
        return f"Left out: {' and '.join(told)}." if told else ""

    @property
    def compared_words(self) -> str:
        if len(self.groups) < 2:
            return ""
        if self.compared is None:
            return (
                "The two groups are not tested against each other: each must have 10 repairs, 3 "
                "must have failed in all, and some while both were observed."
            )
        sooner = self.groups[0 if self.compared.z > 0 else 1].name
        if self.compared.p >= 0.05:
            return "The two groups differ no more than chance alone often makes them differ."
        return (
            f"The two groups differ more than chance alone often makes them: {sooner} fails sooner."
        )

    @property
    def compared_figure(self) -> Figure | None:
        if self.compared is None:
            return None
        inputs = [
            (group.name, f"{group.survival.failed} of {group.survival.count} failed")
            for group in self.groups
        ]
        return figure(
            "How often chance alone would make two alike groups differ so much",
            f"p {p_in_words(self.compared.p)}",
            LOG_RANK,
            *inputs,
            ("z", f"{self.compared.z:.2f}".replace("-", "−")),
            ("χ² with 1 degree of freedom", f"{self.compared.chi_square:.2f}"),
        )

    def median_figure(self, group: Group) -> Figure:
        found = group.survival
        return figure(
            f"Median life, {group.name}",
            group.median_words,
            MEDIAN_LIFE,
            ("Repairs", str(found.count)),
            ("Failed", str(found.failed)),
            ("Longest observed", f"{found.longest:.1f} years"),
        )

    @property
    def medians(self) -> list[Figure]:
        return [self.median_figure(group) for group in self.groups if group.survival.is_enough]


def lives_report(
    repairs: RepairQuerySet,
    on: date,
    chosen: Chosen,
    *,
    against: Against | None = None,
    again_fails: bool = False,
    what: str = "repairs",
) -> LivesReport:
    """Of the repairs given, those chosen; and beside them those that differ in one thing."""
    named = {name for name in ("product", "crew") if getattr(chosen, name)}
    if against is not None:
        named.add(against.name)
    asked = Asked("product" in named, "crew" in named, again_fails)
    gathered = gather(_narrowed(repairs, chosen, against), on, asked)
    groups = _groups(gathered, chosen, against, what)
    compared = None
    if len(groups) == 2:
        first, second = (_columns(group.lives) for group in groups)
        compared = log_rank(*first, *second)
    return LivesReport(
        on, what, groups, _rows(groups), compared, gathered.temporary, gathered.undated
    )


def _narrowed(repairs: RepairQuerySet, chosen: Chosen, against: Against | None) -> RepairQuerySet:
    for name, path in (("kind", "kind"), ("exposure", "member__exposure")):
        wanted = getattr(chosen, name)
        if wanted and not (against and against.name == name):
            repairs = repairs.filter(**{path: wanted})
        elif wanted and against:
            repairs = repairs.filter(**{f"{path}__in": [wanted, against.value]})
    return repairs


def _groups(
    gathered: Gathered, chosen: Chosen, against: Against | None, what: str
) -> tuple[Group, ...]:
    if against is None:
        return (_group(what, _fitting(gathered, chosen.asked())),)
    first, second = [], []
    own = getattr(chosen, against.name)
    for life in _fitting(gathered, chosen.asked(but=against.name)):
        value = getattr(life, against.name)
        if value == against.value:
            second.append(life)
        elif own in ("", value):
            first.append(life)
    return _group(against.first_words, first), _group(against.words, second)


def _fitting(gathered: Gathered, asked: list[tuple[str, str]]) -> list[RepairLife]:
    return [
        life
        for life in gathered.lives
        if all(getattr(life, name) == value for name, value in asked)
    ]


def _group(name: str, lives: list[RepairLife]) -> Group:
    return Group(name, tuple(lives), survival(*_columns(lives)))


def _columns(lives: list[RepairLife] | tuple[RepairLife, ...]) -> tuple[list[float], list[bool]]:
    return [life.years for life in lives], [life.failed for life in lives]


def _rows(groups: tuple[Group, ...]) -> tuple[RiskRow, ...]:
    longest = max(group.survival.longest for group in groups)
    if not longest:
        return ()
    gap = year_gap(longest)
    count = int(longest / gap) + 1
    return tuple(
        RiskRow(number * gap, tuple(_cell(group, number * gap) for group in groups))
        for number in range(count)
    )


def year_gap(longest: float) -> float:
    """Round years between the rows of the table and the marks of the drawing."""
    return next((gap for gap in YEAR_STEPS if longest / gap < MOST_ROWS), YEAR_STEPS[-1])


def _cell(group: Group, years: float) -> RiskCell:
    found = group.survival
    if not found.is_enough or years > found.longest:
        return RiskCell(None, "", found.at_risk(years))
    step = found.at(years)
    shown = figure(
        f"Still sound after {years_in_words(years)}, {group.name}",
        share_in_words(step.share) if step else "100 %",
        SHARE_STILL_SOUND,
        ("Repairs", str(found.count)),
        ("Failed by then", str(sum(s.failed for s in found.steps if s.years <= years))),
        ("Left sound by then", str(sum(s.censored for s in found.steps if s.years <= years))),
        ("Observed for so long", str(found.at_risk(years))),
        ("95 % band", band_words(step) or "not defined before the first failure"),
    )
    return RiskCell(shown, band_words(step), found.at_risk(years))


def _lead(group: Group, what: str) -> str:
    found = group.survival
    if not found.count:
        named = "" if group.name == "repairs" else f" ({group.name})"
        return f"No repair with a known life fits yet{named}."
    have = "has" if found.failed == 1 else "have"
    counted = f"{capital(group.name)}: of {found.count:,}, {found.failed:,} {have} failed"
    if not found.is_enough:
        return f"{counted}; too few for a curve."
    if found.median is None:
        last = found.steps[-1]
        return (
            f"{counted}; more than half are still sound after {last.years:.1f} years, so that "
            "no median life is known yet."
        )
    return f"{counted}; half last {found.median:.1f} years or longer ({median_band(found)})."

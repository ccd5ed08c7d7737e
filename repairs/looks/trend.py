"""How moisture and coating of a member went on from look to look: what its page draws and says.

Nothing is drawn of fewer than two points; what a drawing shows is always said in words too."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from config.figures import Figure, figure
from properties.models import Member, MoistureReading
from repairs.coating_life import COATING_LIFE
from repairs.due.coats import NEWEST_RATINGS, RatedOn, paints_all
from repairs.due.facts_for import KnownOf
from repairs.due.pace import Planned, pace_for
from repairs.due.repaint_by_ratings import (
    NOT_PAINTED,
    NoEstimate,
    RepaintEstimate,
    estimate_or_why,
)
from repairs.due.results import LIMIT_PCT, LIMIT_SOURCE, in_figures, worst_of_coating
from repairs.looks.ratings import rating_in_words
from repairs.looks.trend_chart import Dot, Frame, TrendChart, chart_of
from repairs.models import DueDate, Inspection
from repairs.models.due_dates import DueKind
from repairs.stories.member_page import MemberRecords

HIGHEST_PCT = 35.0
HIGHEST_CLASS = 5.0
FEWEST_POINTS = 2


@dataclass(frozen=True)
class RatedLine:
    """A rating, and whether the curve is fitted to it."""

    day: date
    words: str
    is_left_out: bool = False


@dataclass(frozen=True)
class Trend:
    """`words` say what the chart shows, or why there is none."""

    words: str
    chart: TrendChart | None


@dataclass(frozen=True)
class MemberTrend:
    moisture: Trend | None
    coating: Trend | None
    rated: tuple[RatedLine, ...]
    repaint: str
    figure: Figure | None
    set_by_person: DueDate | None

    @property
    def is_empty(self) -> bool:
        return self.moisture is None and self.coating is None and not self.repaint


def trend_of(records: MemberRecords, planned: Iterable[Planned], known_of: KnownOf) -> MemberTrend:
    """`planned` are the member's outstanding dates with their paces."""
    member = records.member
    repaints = [each for each in planned if each.due.kind == DueKind.REPAINT]
    estimate = _estimate(records, repaints, known_of)
    repaint = repaints[0].due if repaints else None
    ratings = _ratings(records.inspections)
    known = isinstance(estimate, RepaintEstimate)
    by_person = repaint is not None and repaint.set_by == DueDate.SetBy.PERSON
    return MemberTrend(
        moisture=_moisture(member, records.readings),
        coating=_coating(ratings, estimate, repaint),
        rated=tuple(_line(each, estimate) for each in reversed(ratings)),
        repaint=estimate.words if known or ratings else "",
        figure=_figure(estimate) if isinstance(estimate, RepaintEstimate) else None,
        set_by_person=repaint if by_person and known else None,
    )


def _estimate(
    records: MemberRecords, repaints: Sequence[Planned], known_of: KnownOf
) -> RepaintEstimate | NoEstimate:
    """Of a member no longer looked after there is none, only what was seen."""
    member = records.member
    if not member.is_looked_after(records.on):
        return NoEstimate("")
    if not any(paints_all(repair) for repair in records.repairs):
        return NoEstimate(NOT_PAINTED)
    by_rule = [each.pace for each in repaints if each.pace.rule is not None]
    pace = by_rule[0] if by_rule else pace_for(member, DueKind.REPAINT, known=known_of)
    return estimate_or_why(member, pace)


# Moisture


def _moisture(member: Member, readings: Sequence[MoistureReading]) -> Trend | None:
    of = member.building.property
    dots = sorted(
        (_reading_dot(of.day_of(each.taken_at), each) for each in readings),
        key=lambda dot: (dot.day, dot.value),
    )
    if not dots:
        return None
    if len(dots) < FEWEST_POINTS:
        only = dots[0]
        return Trend(f"One reading so far, {only.words} on {_day(only.day)}: no trend yet.", None)
    words = _moisture_words(dots)
    frame = Frame(
        HIGHEST_PCT, tuple((level, f"{level:g}") for level in (0.0, 10.0, 20.0, 30.0)),
        "moisture in % of oven-dry mass", float(LIMIT_PCT), f"{LIMIT_PCT} %: {LIMIT_SOURCE}",
    )  # fmt: skip
    return Trend(words, chart_of(dots, frame, words))


def _reading_dot(day: date, reading: MoistureReading) -> Dot:
    judged = reading.judged()
    beyond = judged.over_range or float(judged.governs_at_pct) > HIGHEST_PCT
    value = HIGHEST_PCT if beyond else float(judged.governs_at_pct)
    return Dot(day, value, judged.shown, beyond)


def _moisture_words(dots: Sequence[Dot]) -> str:
    """Of several readings on one day the wettest speaks for it."""
    last = dots[-1]
    first = max((dot for dot in dots if dot.day == dots[0].day), key=lambda dot: dot.value)
    wet = sum(dot.value >= float(LIMIT_PCT) for dot in dots)
    verb = "is" if wet == 1 else "are"
    return (
        f"From {first.words} on {_day(first.day)} to {last.words} on {_day(last.day)}; {wet} of "
        f"{len(dots)} readings {verb} {LIMIT_PCT} % or more."
    )


# Coating


def _ratings(inspections: Iterable[Inspection]) -> list[RatedOn]:
    """The oldest first; what was not reached was not rated."""
    found = []
    for look in inspections:
        worst = worst_of_coating({name: getattr(look, name) for name in look.SIZED})
        if worst is not None and look.result != Inspection.Result.NOT_REACHED:
            found.append(RatedOn(look.looked_on, worst))
    return sorted(found, key=lambda each: (each.day, each.worst.rating))


def _coating(
    ratings: list[RatedOn], estimate: RepaintEstimate | NoEstimate, repaint: DueDate | None
) -> Trend | None:
    known = estimate if isinstance(estimate, RepaintEstimate) else None
    since = list(known.ratings) if known else ratings
    if not since:
        return None
    dots = [Dot(each.day, float(each.worst.rating), _seen(each)) for each in since]
    first, last = since[0], since[-1]
    if len(since) < FEWEST_POINTS:
        return Trend(f"Rated once so far, {_seen(last)} on {_day(last.day)}: no trend yet.", None)
    words = (
        f"The worst of flaking, cracking and blistering, ISO 4628: from {_seen(first)} on "
        f"{_day(first.day)} to {_seen(last)} on {_day(last.day)}."
    )
    if known is not None and known.curve.fell:
        words += " A rating fell in between: touched up, or rated by another hand."
    limit = known.limit if known else None
    frame = Frame(
        HIGHEST_CLASS, tuple((float(level), str(level)) for level in range(6)),
        "worst class of the coating, ISO 4628", float(limit) if limit else None,
        f"class {in_figures(limit)}: the rule paints it then" if limit else "",
    )  # fmt: skip
    return Trend(words, chart_of(dots, frame, words, known, repaint.due_on if repaint else None))


def _figure(found: RepaintEstimate) -> Figure:
    """When the coating is likely to reach the class of the rule, with all that it rests on."""
    curve, born = found.curve, found.painted_on
    ratings = (f"{_seen(each)} on {_day(each.day)}" for each in found.ratings)
    like = f"{curve.like} of {curve.coatings}" if curve.like else "fewer than are needed"
    return figure(
        f"When the coating reaches class {in_figures(found.limit)}",
        found.expected_words,
        COATING_LIFE,
        ("Painted as a whole on", _day(born)),
        ("Rated since", "; ".join(ratings) or "not yet"),
        ("The oldest of all ratings", f"{curve.oldest:.1f} years after painting"),
        (f"Ratings of like coatings, the newest {NEWEST_RATINGS}", like),
        ("Like are those of the", "same finish and exposure, on all properties kept here"),
        ("The interval of the rule", f"class {in_figures(found.limit)} on {_day(found.rule_day)}"),
        ("Power p", f"{curve.power:g}"),
        ("Scale c", f"{curve.c:.4f}, give or take {curve.deviation:.4f} (its deviation)"),
    )


def _line(rated: RatedOn, estimate: RepaintEstimate | NoEstimate) -> RatedLine:
    name = rated.worst.name
    words = f"{name}: {rating_in_words(name.lower(), rated.worst.rating)}"
    if not isinstance(estimate, RepaintEstimate) or rated.day <= estimate.painted_on:
        return RatedLine(rated.day, words)
    return RatedLine(rated.day, words, rated not in estimate.ratings)


def _seen(rated: RatedOn) -> str:
    return f"{rated.worst.name.lower()} {in_figures(rated.worst.rating)}"


def _day(day: date) -> str:
    return f"{day:%-d %B %Y}"

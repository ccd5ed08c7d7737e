"""One trend as paths for a template to draw: points over the years, a limit, and a curve with its
band where one is fitted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from repairs.due.coats import DAYS_A_YEAR
from repairs.due.repaint_by_ratings import RepaintEstimate

WIDTH, HEIGHT = 460, 230
LEFT, RIGHT, TOP, BOTTOM = 34, 22, 16, 44
MOST_TICKS = 9
STEPS_OF_CURVE = 40
# A curve is drawn no further than that beyond what was seen.
LONGEST_YEARS = 30.0


@dataclass(frozen=True)
class Dot:
    """`beyond` is more than the scale, or the meter, can tell: drawn open, at the top."""

    day: date
    value: float
    words: str
    beyond: bool = False


@dataclass(frozen=True)
class Frame:
    """What the height means: its top, its ticks, its name, and a limit with its words."""

    top: float
    levels: tuple[tuple[float, str], ...]
    name: str
    limit: float | None
    limit_words: str


@dataclass(frozen=True)
class Tick:
    at: float
    words: str


@dataclass(frozen=True)
class Mark:
    x: float
    y: float
    beyond: bool
    words: str


@dataclass(frozen=True)
class TrendChart:
    marks: tuple[Mark, ...]
    line: str
    curve: str
    band: str
    limit_y: float | None
    limit_words: str
    repaint_x: float | None
    years: tuple[Tick, ...]
    levels: tuple[Tick, ...]
    name: str
    words: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    top: int = TOP
    bottom: int = HEIGHT - BOTTOM
    levels_x: int = LEFT - 6
    years_y: int = HEIGHT - BOTTOM + 18
    words_y: int = HEIGHT - 6

    @property
    def has_beyond(self) -> bool:
        return any(mark.beyond for mark in self.marks)


def chart_of(
    dots: Sequence[Dot],
    frame: Frame,
    words: str,
    estimate: RepaintEstimate | None = None,
    repaint_on: date | None = None,
) -> TrendChart:
    """`dots` in the order of their days, at least one."""
    pen = _pen(dots, frame, estimate, repaint_on)
    marks = tuple(Mark(pen.x(dot.day), pen.y(dot.value), dot.beyond, dot.words) for dot in dots)
    return TrendChart(
        marks=marks,
        line="" if estimate else _through(pen, dots),
        curve=pen.curve(estimate) if estimate else "",
        band=pen.band(estimate) if estimate else "",
        limit_y=None if frame.limit is None else pen.y(frame.limit),
        limit_words=frame.limit_words,
        repaint_x=pen.x(repaint_on) if repaint_on and repaint_on <= pen.last else None,
        years=pen.years(),
        levels=tuple(Tick(pen.y(level), said) for level, said in frame.levels),
        name=frame.name,
        words=words,
    )


def _through(pen: _Pen, dots: Sequence[Dot]) -> str:
    """A line through the highest point of each day."""
    highest = {dot.day: dot for dot in sorted(dots, key=lambda each: (each.day, each.value))}
    return "M" + "L".join(f"{pen.x(dot.day)} {pen.y(dot.value)}" for dot in highest.values())


def _pen(
    dots: Sequence[Dot], frame: Frame, estimate: RepaintEstimate | None, repaint_on: date | None
) -> _Pen:
    """From New Year before the first to New Year after the last of what is shown."""
    days = [dot.day for dot in dots]
    if estimate is not None:
        furthest = estimate.painted_on + timedelta(days=LONGEST_YEARS * DAYS_A_YEAR)
        ahead = [day for day in (estimate.likely, repaint_on, estimate.day) if day is not None]
        days += [estimate.painted_on, *(min(day, furthest) for day in ahead)]
    return _Pen(date(min(days).year, 1, 1), date(max(days).year + 1, 1, 1), frame.top)


class _Pen:
    def __init__(self, first: date, last: date, top: float) -> None:
        self.first, self.last, self.top = first, last, top

    def x(self, day: date) -> float:
        share = (day - self.first).days / (self.last - self.first).days
        return round(LEFT + (WIDTH - LEFT - RIGHT) * share, 1)

    def y(self, value: float) -> float:
        return round(TOP + (HEIGHT - TOP - BOTTOM) * (1 - min(value / self.top, 1)), 1)

    def years(self) -> tuple[Tick, ...]:
        span = self.last.year - self.first.year
        gap = math.ceil(span / MOST_TICKS)
        years = range(self.first.year, self.last.year + 1, gap)
        return tuple(Tick(self.x(date(year, 1, 1)), str(year)) for year in years)

    def curve(self, estimate: RepaintEstimate) -> str:
        points = [
            f"{self.x(day)} {self.y(estimate.curve.rating_at(years).likely)}"
            for day, years in self._days(estimate)
        ]
        return "M" + "L".join(points)

    def band(self, estimate: RepaintEstimate) -> str:
        """Out along the upper edge and back along the lower one."""
        edges = [
            (self.x(day), estimate.curve.rating_at(years)) for day, years in self._days(estimate)
        ]
        out = [f"{x} {self.y(band.high)}" for x, band in edges]
        back = [f"{x} {self.y(band.low)}" for x, band in reversed(edges)]
        return "M" + "L".join([*out, *back]) + "Z"

    def _days(self, estimate: RepaintEstimate) -> list[tuple[date, float]]:
        length = (self.last - estimate.painted_on).days
        found = (round(length * step / STEPS_OF_CURVE) for step in range(STEPS_OF_CURVE + 1))
        return [(estimate.painted_on + timedelta(days=n), n / DAYS_A_YEAR) for n in found]

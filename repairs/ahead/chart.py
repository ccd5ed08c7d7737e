"""The years ahead as a drawing: a bar for each year, and what lies in the reserve below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from materials.money import from_minor, show_money

WIDTH = 480
LEFT, RIGHT, TOP = 64, 10, 14
BARS_BASE = 236
YEARS_Y = BARS_BASE + 18
RESERVE_TOP, RESERVE_BASE = 312, 372
HEIGHT_OF_BARS, HEIGHT_WITH_RESERVE = 276, 382
FEWEST_TICKS = 4
MOST_YEAR_WORDS = 10
# In the order in which they are stacked, each with its hatch of `_hatches.html`.
HATCHES = {"look": "dots", "repaint": "hatch", "repair": "cross", "access": "lines"}
KIND_WORDS = {"look": "Looks", "repaint": "Repaints", "repair": "Repairs", "access": "Access"}


@dataclass(frozen=True)
class Column:
    """One year: money by kind as is likely, and how low and how high the year may be, all in
    minor units of today's money."""

    year: int
    parts: tuple[tuple[str, int], ...]
    low: int
    high: int

    @property
    def likely(self) -> int:
        return sum(minor for _, minor in self.parts)


@dataclass(frozen=True)
class Part:
    y: float
    height: float
    hatch: str


@dataclass(frozen=True)
class Bar:
    """`whisker` is a path from low to high; empty where the two are one."""

    x: float
    width: float
    parts: tuple[Part, ...]
    whisker: str


@dataclass(frozen=True)
class Tick:
    at: float
    words: str


@dataclass(frozen=True)
class Kind:
    words: str
    hatch: str


@dataclass(frozen=True)
class Chart:
    key: str
    unit: str
    words: str
    bars: tuple[Bar, ...]
    kinds: tuple[Kind, ...]
    years: tuple[Tick, ...]
    money: tuple[Tick, ...]
    level: float | None
    has_whiskers: bool = False
    reserve: str = ""
    reserve_dots: tuple[tuple[float, float], ...] = ()
    reserve_ticks: tuple[Tick, ...] = ()
    reserve_unit: str = ""
    width: int = WIDTH
    height: int = HEIGHT_OF_BARS
    left: int = LEFT
    right: int = WIDTH - RIGHT
    top: int = TOP
    base: int = BARS_BASE
    money_x: int = LEFT - 6
    years_y: int = YEARS_Y
    unit_y: int = YEARS_Y + 18
    reserve_top: int = RESERVE_TOP
    reserve_base: int = RESERVE_BASE
    reserve_words_y: int = RESERVE_TOP - 6


def chart_of(
    columns: Sequence[Column],
    currency: str,
    level_minor: int | None = None,
    balances: Sequence[tuple[int, int]] = (),
) -> Chart | None:
    """None where there is no money to draw. `balances` are what lies in the reserve at the end
    of a year, by year, in minor units."""
    most = max([column.high for column in columns] + [level_minor or 0], default=0)
    if most <= 0:
        return None
    pen = _Pen(columns, most)
    scale = _scale(most, currency)
    bars = tuple(pen.bar(column) for column in columns)
    drawn = {kind for column in columns for kind, minor in column.parts if minor}
    chart = Chart(
        key=f"ahead-{currency}",
        unit=scale.unit,
        words=chart_words(columns, currency, level_minor),
        bars=bars,
        kinds=tuple(Kind(KIND_WORDS[kind], HATCHES[kind]) for kind in HATCHES if kind in drawn),
        years=pen.years(),
        money=tuple(Tick(pen.y(minor), words) for minor, words in scale.ticks),
        level=None if level_minor is None else pen.y(level_minor),
        has_whiskers=any(bar.whisker for bar in bars),
    )
    return _with_reserve(chart, pen, balances, currency)


def chart_words(columns: Sequence[Column], currency: str, level_minor: int | None) -> str:
    """The drawing in a sentence or two, for whoever does not see it."""
    peak = max(columns, key=lambda column: column.likely)
    years = f"{columns[0].year} to {columns[-1].year}"
    highest = f"{peak.year} with {show_money(peak.likely, currency)}"
    told = [
        f"A bar for each year from {years}, by kind of work, in today's money.",
        f"The highest is {highest}.",
    ]
    if level_minor is not None:
        told.append(f"The same sum every year would be {show_money(level_minor, currency)}.")
    told.append("The same figures stand in the table.")
    return " ".join(told)


@dataclass(frozen=True)
class _Scale:
    """Round amounts to write beside the bars, in coins of `unit`."""

    unit: str
    ticks: tuple[tuple[int, str], ...]


def _scale(most_minor: int, currency: str) -> _Scale:
    one = round(1 / from_minor(1, currency))
    most = most_minor / one
    word, size = next(
        (word, size)
        for word, size in (("million ", 10**6), ("thousand ", 10**3), ("", 1))
        if most >= 100 * size or size == 1
    )
    gap = _round_gap(most / FEWEST_TICKS)
    count = int(most / gap)
    ticks = tuple((round(n * gap * one), f"{n * gap / size:,g}") for n in range(count + 1))
    return _Scale(f"{word}{currency}", ticks)


def _round_gap(least: float) -> float:
    """The greatest of 1, 2 or 5 times a power of ten that is no greater than `least`."""
    power = 1.0
    while power * 10 <= least:
        power *= 10
    while power > least:
        power /= 10
    return max(power * n for n in (1, 2, 5) if power * n <= least)


def _with_reserve(
    chart: Chart, pen: _Pen, balances: Sequence[tuple[int, int]], currency: str
) -> Chart:
    """With the lower drawing, where there is a reserve to tell of."""
    most = max((minor for _, minor in balances), default=0)
    if most <= 0:
        return chart
    least = min(0, *(minor for _, minor in balances))

    def y(minor: int) -> float:
        tall = RESERVE_BASE - RESERVE_TOP
        return round(RESERVE_BASE - tall * (minor - least) / (most - least), 1)

    dots = tuple((pen.centre(year), y(minor)) for year, minor in balances)
    scale = _scale(most, currency)
    return replace(
        chart,
        reserve="M" + "L".join(f"{x} {at}" for x, at in dots),
        reserve_dots=dots,
        reserve_ticks=tuple(
            Tick(y(minor), words) for minor, words in (scale.ticks[0], scale.ticks[-1])
        ),
        reserve_unit=scale.unit,
        height=HEIGHT_WITH_RESERVE,
    )


class _Pen:
    def __init__(self, columns: Sequence[Column], most: int) -> None:
        self.columns, self.most = columns, most
        self.step = (WIDTH - LEFT - RIGHT) / len(columns)
        self.places = {column.year: place for place, column in enumerate(columns)}

    def y(self, minor: float) -> float:
        return round(BARS_BASE - (BARS_BASE - TOP) * minor / self.most, 1)

    def centre(self, year: int) -> float:
        return round(LEFT + self.step * (self.places[year] + 0.5), 1)

    def bar(self, column: Column) -> Bar:
        width = round(self.step * 0.68, 1)
        parts, below = [], 0
        for kind, minor in sorted(column.parts, key=lambda part: list(HATCHES).index(part[0])):
            if minor > 0:
                foot, head = self.y(below), self.y(below + minor)
                parts.append(Part(head, round(foot - head, 1), HATCHES[kind]))
                below += minor
        x = self.centre(column.year)
        return Bar(round(x - width / 2, 1), width, tuple(parts), self._whisker(x, column))

    def _whisker(self, x: float, column: Column) -> str:
        if column.low == column.high:
            return ""
        low, high = self.y(column.low), self.y(column.high)
        cap = round(min(4, self.step * 0.2), 1)
        across = f"m{-cap} 0h{2 * cap}"
        return f"M{x} {low}V{high}{across}M{x} {low}{across}"

    def years(self) -> tuple[Tick, ...]:
        """Every year, or every second or fifth where there is no room for all."""
        count = len(self.columns)
        gap = next(gap for gap in (1, 2, 5) if count / gap <= MOST_YEAR_WORDS or gap == 5)
        return tuple(
            Tick(self.centre(column.year), str(column.year))
            for place, column in enumerate(self.columns)
            if place % gap == 0
        )

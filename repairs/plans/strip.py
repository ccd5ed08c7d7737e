"""The days of a plan as a horizontal strip, in percent of its width, for page and print alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from repairs.plans.prepared import Prepared, StageDays

# More dates than these would not stand side by side on a phone.
MOST_DATES = 5
MOST_DAYS = 400
LEAST_WIDTH = 0.6


@dataclass(frozen=True)
class Mark:
    """A piece of a row: what it is, where it begins and how wide it is."""

    kind: str
    x: float
    width: float


@dataclass(frozen=True)
class StripDate:
    x: float
    words: str


@dataclass(frozen=True)
class StripRow:
    title: str
    words: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Strip:
    """`days` are the places of the midnights; `kinds` names what the key has to explain."""

    dates: tuple[StripDate, ...]
    days: tuple[float, ...]
    rows: tuple[StripRow, ...]
    kinds: tuple[str, ...]


@dataclass(frozen=True)
class _Scale:
    begins: datetime
    ends: datetime

    def x(self, at: datetime) -> float:
        whole = (self.ends - self.begins) / timedelta(hours=1)
        part = (at.timestamp() - self.begins.timestamp()) / 3600
        return round(min(max(100 * part / whole, 0), 100), 3)

    def mark(self, kind: str, begins: datetime, ends: datetime) -> Mark | None:
        if ends <= self.begins or begins >= self.ends:
            return None
        left, right = self.x(begins), self.x(ends)
        width = max(right - left, LEAST_WIDTH)
        return Mark(kind, min(left, 100 - LEAST_WIDTH), round(width, 3))


def strip_of(prepared: Prepared, zone: ZoneInfo) -> Strip | None:
    """None where no day of the plan is known."""
    known = [
        (number, stage) for number, stage in enumerate(prepared.stages, start=1)
        if stage.days and stage.days.begins_at
    ]  # fmt: skip
    if not known:
        return None
    scale = _scale([stage.days for _, stage in known if stage.days], zone)
    rows = []
    for number, stage in known:
        assert stage.days is not None
        title = f"{number}. {stage.row.get_kind_display()}"
        rows.append(StripRow(title, _words(stage.days, zone), tuple(_marks(stage.days, scale))))
    midnights = list(_midnights(scale, zone))
    kinds = {mark.kind for row in rows for mark in row.marks}
    order = ("allowed", "work", "cure", "doubt", "window")
    return Strip(
        dates=tuple(_dates(midnights, scale)),
        days=tuple(scale.x(at) for at in midnights),
        rows=tuple(rows),
        kinds=tuple(kind for kind in order if kind in kinds),
    )


def _scale(days: list[StageDays], zone: ZoneInfo) -> _Scale:
    """From the midnight before the first to the midnight after the last."""
    starts = [at for day in days if (at := day.begins_at)]
    ends = [*starts]
    for day in days:
        ends += day.layers
        if day.cure and day.cure.ready_at:
            ends.append(day.cure.ready_at)
        elif day.window_opens_at:
            ends.append(day.window_opens_at)
    first, last = min(starts).astimezone(zone), max(ends).astimezone(zone)
    begins = datetime.combine(first.date(), time(0), zone)
    ending = min(last.date() + timedelta(days=1), first.date() + timedelta(days=MOST_DAYS))
    return _Scale(begins, datetime.combine(ending, time(0), zone))


def _midnights(scale: _Scale, zone: ZoneInfo) -> Iterable[datetime]:
    day = scale.begins.date()
    while (at := datetime.combine(day, time(0), zone)) < scale.ends:
        yield at
        day += timedelta(days=1)


def _dates(midnights: list[datetime], scale: _Scale) -> Iterable[StripDate]:
    step = -(-len(midnights) // MOST_DATES)
    for at in midnights[::step]:
        yield StripDate(scale.x(at), f"{at:%-d %b}")


def _marks(days: StageDays, scale: _Scale) -> Iterable[Mark]:
    assert days.begins_at is not None
    last = days.layers[-1] if days.layers else days.begins_at
    found = [scale.mark("allowed", span.begins, span.ends) for span in days.allowed]
    cure = days.cure
    if cure and cure.ready_at:
        found.append(scale.mark("cure", days.begins_at, cure.ready_at))
        if cure.earliest and cure.latest and cure.earliest < cure.latest:
            found.append(scale.mark("doubt", cure.earliest, cure.latest))
    for at in dict.fromkeys((days.begins_at, *days.layers)):
        found.append(scale.mark("work", at, at))
    opens, closes = days.window_opens_at, days.window_closes_at
    if opens and closes and last <= opens < closes:
        found.append(scale.mark("window", opens, closes))
    return [mark for mark in found if mark]


def _words(days: StageDays, zone: ZoneInfo) -> str:
    told = [f"begin {moment_words(days.begins_at, zone)}"]
    if len(days.layers) > 1:
        told.append(f"last layer {moment_words(days.layers[-1], zone)}")
    if days.cure and days.cure.ready_at:
        told.append(f"cured {moment_words(days.cure.ready_at, zone)}")
    return "; ".join(told)


def moment_words(at: datetime | None, zone: ZoneInfo) -> str:
    return f"{at.astimezone(zone):%-d %B %Y, %H:%M}" if at else "not known"

"""From the ground to the jobs: what falls when, with work moved as a person planned it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from properties.models import Elevation
from repairs.ahead.failing import millionths_failing
from repairs.ahead.falls import Fall, catching, end_month, falls_one_by_one, moved_to
from repairs.ahead.figures import Asked
from repairs.ahead.ground import Columns, Ground
from repairs.ahead.occurrences import falls_of, month_number
from repairs.ahead.prices import Quote
from repairs.ahead.works import (
    ACCESS,
    DATES,
    FACES,
    FAILURES,
    LOOK,
    ONE,
    REPAINT,
    REPAIR,
    TASKS,
    Works,
    together,
    works,
)
from repairs.due.pace import Pace
from repairs.due.seasons import ANY_DAY
from repairs.due.series import Standing, Steps
from repairs.models import WorkMove

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]
    Chosen = NDArray[np.bool_]


@dataclass(frozen=True)
class Near:
    """Only what is on one elevation, or of one member that stands on none."""

    face: int
    member: int

    def chosen(self, columns: Columns) -> Chosen:
        return columns.face == self.face if self.face else columns.member == self.member


def reckon(ground: Ground, moves: Sequence[WorkMove], near: Near | None = None) -> Works:
    """All jobs of the asked years, with those moves; the access that they need among them."""
    work = together(
        [
            *_dated(ground, moves, near),
            _tasks(ground, moves, near),
            _failures(ground, near),
        ]
    )
    return together([work, _access(ground, work)])


# Looks and repaints


def _dated(ground: Ground, moves: Sequence[WorkMove], near: Near | None) -> Iterator[Works]:
    import numpy as np

    chosen = near.chosen(ground.dates) if near else np.ones(len(ground.pace_of), dtype=np.bool_)
    single = chosen & (_is_moved(ground, moves) | _is_by_the_day(ground))
    yield _one_by_one(ground, moves, np.flatnonzero(single))
    rest = np.flatnonzero(chosen & ~single)
    rest = rest[np.argsort(ground.pace_of[rest], kind="stable")]
    numbers, starts = np.unique(ground.pace_of[rest], return_index=True)
    end = end_month(ground.asked)
    for number, start, stop in zip(numbers, starts, [*starts[1:], len(rest)], strict=False):
        of_pace = rest[start:stop]
        series = ground.paces[number].series()
        assert series is None or isinstance(series, Steps)
        falls = falls_of(series, ground.standings.only(of_pace), ground.asked.first, end)
        yield _of_dates(ground, of_pace[falls.place], falls.month, 0)


def _of_dates(ground: Ground, source: Whole, month: Whole, moved_from: object) -> Works:
    import numpy as np

    kind = np.where(ground.repaints[source], REPAINT, LOOK)
    return _of(
        ground.dates, source, kind=kind, table=DATES, month=month, moved_from=moved_from,
        number=ONE,
    )  # fmt: skip


def _of(columns: Columns, source: Whole, **more: object) -> Works:
    return works(
        len(source), source=source, face=columns.face[source], member=columns.member[source],
        site=columns.property[source], priced=columns.priced[source],
        **{"low": columns.low[source], "likely": columns.likely[source],
           "high": columns.high[source], **more},
    )  # fmt: skip


def _is_moved(ground: Ground, moves: Sequence[WorkMove]) -> Chosen:
    import numpy as np

    repaints = [move for move in moves if move.kind != WorkMove.Kind.REPAIR]
    faces = [move.elevation_id for move in repaints if move.elevation_id]
    members = [move.member_id for move in repaints if move.member_id]
    where = np.isin(ground.dates.face, faces) | np.isin(ground.dates.member, members)
    return ground.repaints & where


def _is_by_the_day(ground: Ground) -> Chosen:
    """Dates of rules with seasons, frost or fixed days: the day itself must be known."""
    import numpy as np

    plain = [_is_plain(pace) for pace in ground.paces]
    return ~np.array(plain, dtype=np.bool_)[ground.pace_of] if plain else ground.pace_of < 0


def _is_plain(pace: Pace) -> bool:
    series = pace.series()
    if series is None:
        return True
    if pace.days != ANY_DAY or not isinstance(series, Steps):
        return False
    return tuple(sorted(series.first_months)) == series.first_months


def _one_by_one(ground: Ground, moves: Sequence[WorkMove], sources: Whole) -> Works:
    import numpy as np

    rows = []
    known: dict[tuple[int, Standing], list[Fall]] = {}
    for source in sources.tolist():
        date_row, number = ground.rows.dates[source], int(ground.pace_of[source])
        standing = Standing(
            date_row.counted_from, date_row.due_on, date_row.step, date_row.window_days
        )
        own = _own(moves, ground.dates, source) if ground.repaints[source] else []
        if own or (number, standing) not in known:
            falls = list(falls_one_by_one(ground.paces[number], standing, ground.asked, own))
            if not own:
                known[number, standing] = falls
        else:
            falls = known[number, standing]
        rows += [(source, fall.month, fall.moved_from) for fall in falls]
    source, month, moved_from = np.array(rows, dtype=np.int64).reshape(-1, 3).T
    return _of_dates(ground, source, month, moved_from)


def _own(moves: Sequence[WorkMove], columns: Columns, source: int) -> list[WorkMove]:
    face, member = int(columns.face[source]), int(columns.member[source])
    return [
        move
        for move in moves
        if (move.elevation_id == face if move.elevation_id else move.member_id == member)
    ]


# Repairs


def _tasks(ground: Ground, moves: Sequence[WorkMove], near: Near | None) -> Works:
    import numpy as np

    columns = ground.task_columns
    chosen = np.flatnonzero(near.chosen(columns)) if near else np.arange(len(ground.tasks))
    kind, month, moved_from = [], [], []
    for source in chosen.tolist():
        task = ground.tasks[source]
        unwanted = WorkMove.Kind.REPAIR if task.is_repaint else WorkMove.Kind.REPAINT
        own = [move for move in _own(moves, columns, source) if move.kind != unwanted]
        move = catching(own, task.on.year, ground.asked)
        if move is not None and move.to_year == task.on.year:
            move = None
        on = moved_to(task.on, move.to_year, ground.asked) if move else task.on
        kind.append(REPAINT if task.is_repaint else REPAIR)
        month.append(month_number(on))
        moved_from.append(task.on.year if move else 0)
    found = _of(
        columns, chosen, kind=kind, table=TASKS, month=month, moved_from=moved_from, number=ONE
    )
    return found.only(found.month < end_month(ground.asked))


def _failures(ground: Ground, near: Near | None) -> Works:
    """Of each standing repair and year, the chance that it fails, at that share of its price."""
    import numpy as np

    columns = ground.standing_columns
    chosen = near.chosen(columns) if near else np.ones(len(ground.standing), dtype=np.bool_)
    kinds = np.array([each.kind for each in ground.standing], dtype="U11")
    ages = np.array([each.age_days for each in ground.standing], dtype=np.int64)
    edges = _edges(ground.asked)
    starts = np.array([_first_month(ground.asked, year) for year in ground.asked.every_year])
    parts = []
    for kind in np.unique(kinds[chosen]).tolist():
        curve = ground.curves.of(kind)
        of_kind = np.flatnonzero(chosen & (kinds == kind))
        if curve is None:
            continue
        different, which = np.unique(ages[of_kind], return_inverse=True)
        number = millionths_failing(curve, different, edges)[which]
        at, year = np.nonzero(number)
        parts.append(_part(columns, of_kind[at], number[at, year], starts[year]))
    return together(parts)


def _part(columns: Columns, source: Whole, number: Whole, month: Whole) -> Works:
    money = {
        name: _share(getattr(columns, name)[source], number) for name in ("low", "likely", "high")
    }
    return _of(
        columns, source, kind=REPAIR, table=FAILURES, month=month, number=number, spread=1, **money
    )


def _share(price: Whole, millionths: Whole) -> Whole:
    return (2 * price * millionths + ONE) // (2 * ONE)


def _edges(asked: Asked) -> list[int]:
    """The first day, and the first of each year after it, in days from the first day."""
    starts = [asked.first, *(date(year + 1, 1, 1) for year in asked.every_year)]
    return [(day - asked.first).days for day in starts]


def _first_month(asked: Asked, year: int) -> int:
    return max((year - 1970) * 12, month_number(asked.first))


# Access


def _access(ground: Ground, work: Works) -> Works:
    """Once for each elevation and year with repaints or repairs, in the month of the first; where
    nothing but failures is expected, as the part of a visit that they make likely, one at most.
    Looks need none: they are made from below, or while it stands."""
    import numpy as np

    needing = _needing(ground)
    work = work.only((work.kind != LOOK) & np.isin(work.face, list(needing)))
    if not len(work):
        return works(0)
    order = np.lexsort((work.month, work.spread, work.year, work.face))
    key = work.face[order] * 10_000 + work.year[order]
    different, first = np.unique(key, return_index=True)
    number = np.minimum(np.add.reduceat(work.number[order], first), ONE)
    # Sorted so, the first of each is dated work if there is any.
    lead = order[first]
    number = np.where(work.spread[lead] == 0, ONE, number)
    face = different // 10_000
    quotes = [needing[each] for each in face.tolist()]
    priced = np.array([quote is not None for quote in quotes])
    bands = [(q.band.low, q.band.likely, q.band.high) if q else (0, 0, 0) for q in quotes]
    low, likely, high = np.array(bands, dtype=np.int64).reshape(-1, 3).T
    return works(
        len(face), kind=ACCESS, table=FACES, source=face, face=face, number=number,
        month=work.month[lead], site=work.site[lead], spread=work.spread[lead],
        low=_share(low, number), likely=_share(likely, number), high=_share(high, number),
        priced=priced,
    )  # fmt: skip


def _needing(ground: Ground) -> dict[int, Quote | None]:
    """The elevations whose access costs something or has no price yet, with their price."""
    found = {}
    for pk, elevation in ground.rows.elevations.items():
        if elevation.access == Elevation.Access.GROUND:
            continue
        quote = ground.prices.of_access(elevation)
        # A ladder comes along with whoever climbs it, unless somebody says what it costs.
        if quote is not None or elevation.access != Elevation.Access.LADDER:
            found[pk] = quote
    return found

"""What the years ahead of some properties of one currency stand on: rows, paces, prices and lives,
read once, with the prices of each row as columns of numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from properties.models.owners import PropertyQuerySet
from repairs.ahead.figures import Asked
from repairs.ahead.in_place import Curves, StandingRepair, standing_repairs
from repairs.ahead.occurrences import Standings
from repairs.ahead.paces import Paces
from repairs.ahead.prices import Prices, Quote, prices_for
from repairs.ahead.rows import Place, Rows, rows_of
from repairs.ahead.tasks import Left, Task, tasks_of
from repairs.due.pace import Pace
from repairs.models.costs import CostLineQuerySet
from repairs.models.due_dates import DueKind

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]


# Four columns of nothing.
NONE = ((), (), (), ())


@dataclass(frozen=True)
class Columns:
    """Where each row of one list is, and what one job of it costs."""

    face: Whole
    member: Whole
    property: Whole
    low: Whole
    likely: Whole
    high: Whole
    priced: Whole


@dataclass(frozen=True)
class Ground:
    currency: str
    asked: Asked
    rows: Rows
    prices: Prices
    curves: Curves
    tasks: list[Task]
    left: Left
    standing: list[StandingRepair]
    paces: list[Pace]
    pace_of: Whole
    repaints: NDArray[np.bool_]
    standings: Standings
    dates: Columns
    task_columns: Columns
    standing_columns: Columns

    def date_quote(self, source: int) -> Quote | None:
        row = self.rows.dates[source]
        repaint = row.kind == DueKind.REPAINT
        return self.prices.of_repaint(row.place) if repaint else self.prices.of_look(row.place)

    def task_quote(self, source: int) -> Quote | None:
        return _task_quote(self.prices, self.tasks[source])

    def standing_quote(self, source: int) -> Quote | None:
        repair = self.standing[source]
        return self.prices.of_repair(repair.place, repair.kind)

    def access_quote(self, face: int) -> Quote | None:
        return self.prices.of_access(self.rows.elevations[face])


def ground_for(
    properties: PropertyQuerySet, currency: str, asked: Asked, told: CostLineQuerySet,
    curves: Curves,
) -> Ground:  # fmt: skip
    """Of the properties of one currency that are still looked after on the first day."""
    import numpy as np

    on = asked.first
    kept = properties.filter(currency=currency).looked_after(on)
    rows = rows_of(kept, on)
    prices = prices_for(kept, currency, on, told)
    tasks, left = tasks_of(rows.defects, rows.plans, on)
    standing = standing_repairs(kept, on, rows.zones)
    paces, pace_of = _paces(Paces(rows, kept), rows)
    repaint = [row.kind == DueKind.REPAINT for row in rows.dates]
    places = [row.place for row in rows.dates]
    return Ground(
        currency, asked, rows, prices, curves, tasks, left, standing, paces, pace_of,
        np.array(repaint, dtype=np.bool_),
        _standings(rows),
        _columns(places, (
            prices.of_repaint(place) if is_repaint else prices.of_look(place)
            for place, is_repaint in zip(places, repaint, strict=True)
        )),
        _columns([task.place for task in tasks], (_task_quote(prices, task) for task in tasks)),
        _columns(
            [each.place for each in standing],
            (prices.of_repair(each.place, each.kind) for each in standing),
        ),
    )  # fmt: skip


def _task_quote(prices: Prices, task: Task) -> Quote | None:
    if task.is_repaint:
        return prices.of_repaint(task.place)
    return prices.of_repair(task.place, task.kind)


def _paces(paces: Paces, rows: Rows) -> tuple[list[Pace], Whole]:
    import numpy as np

    found: dict[int, int] = {}
    every: list[Pace] = []
    numbers = np.empty(len(rows.dates), dtype=np.int64)
    for at, row in enumerate(rows.dates):
        pace = paces.of(row)
        number = found.get(id(pace))
        if number is None:
            number = found[id(pace)] = len(every)
            every.append(pace)
        numbers[at] = number
    return every, numbers


def _standings(rows: Rows) -> Standings:
    import numpy as np

    standings = [row[2:6] for row in rows.dates]
    due_on, counted_from, step, window_days = zip(*standings, strict=True) if standings else NONE
    return Standings(
        np.array(due_on, dtype="M8[D]"),
        np.array(counted_from, dtype="M8[D]"),
        np.array(step, dtype=np.int64),
        np.array(window_days, dtype=np.int64),
    )


def _columns(places: Sequence[Place], quotes: Iterable[Quote | None]) -> Columns:
    import numpy as np

    bands = [
        (quote.band.low, quote.band.likely, quote.band.high, 1) if quote else (0, 0, 0, 0)
        for quote in quotes
    ]
    money = np.array(bands, dtype=np.int64).reshape(-1, 4)
    where = np.array(
        [(place.elevation, place.member, place.property) for place in places], dtype=np.int64
    ).reshape(-1, 3)
    return Columns(*where.T, *money.T)

"""Every job of the years ahead as columns of numbers, so that ten thousand buildings are reckoned
as one is: what falls in which month, at what price, moved from where.

`table` says in which list of the ground a job's row stands, `source` where in it. Numbers are in
millionths: 1,000,000 is one job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

LOOK, REPAINT, REPAIR, ACCESS = range(4)
KINDS = ("look", "repaint", "repair", "access")
DATES, TASKS, FAILURES, FACES = range(4)
ONE = 1_000_000


@dataclass(frozen=True)
class Works:
    """One place in every column for each job. `face` is the elevation, 0 for none; `site` the
    property; `month` counts from January 1970. `spread` says that the job is of the whole year of
    its month and not of the month. `low`, `likely` and `high` are 0 where it is not `priced`."""

    kind: Whole
    table: Whole
    source: Whole
    month: Whole
    face: Whole
    member: Whole
    site: Whole
    number: Whole
    low: Whole
    likely: Whole
    high: Whole
    priced: Whole
    moved_from: Whole
    spread: Whole

    def __len__(self) -> int:
        return len(self.kind)

    def only(self, chosen: NDArray[np.bool_]) -> Works:
        return Works(*[getattr(self, each.name)[chosen] for each in fields(self)])

    @property
    def year(self) -> Whole:
        return 1970 + self.month // 12


def works(count: int, **columns: object) -> Works:
    """Columns of one length; a number stands for a whole column of it, what is left out is 0."""
    import numpy as np

    def column(name: str) -> Whole:
        whole: Whole = np.asarray(columns.get(name, 0), dtype=np.int64)
        return np.broadcast_to(whole, (count,))

    return Works(*[column(each.name) for each in fields(Works)])


def together(parts: Sequence[Works]) -> Works:
    import numpy as np

    if not parts:
        return works(0)
    return Works(
        *(np.concatenate([getattr(part, each.name) for part in parts]) for each in fields(Works))
    )

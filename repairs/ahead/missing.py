"""What has no price in the years ahead, and what to type so that it gets one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from properties.models import Elevation
from repairs.ahead.figures import Unpriced
from repairs.ahead.ground import Ground
from repairs.ahead.lines import decimal_of
from repairs.ahead.works import ACCESS, KINDS, LOOK, REPAINT, Works
from repairs.models import WorkRate

What = WorkRate.What
_RATES = {LOOK: What.LOOK, REPAINT: What.REPAINT}
_NO_PRICE = {
    What.LOOK: "Type a rate for a look.",
    What.REPAINT: "Log a repaint of the building with its costs, or type a rate for a repaint.",
    What.REPAIR: "Log a repair of the building with its costs, or type a rate for a repair.",
}
_NO_LENGTH = "The rate is by the metre: record the length of each member."
_NO_AREA = "The rate is by the square metre: record the area of each elevation."
_NOT_KNOWN = (
    "Nobody recorded how these elevations are reached: record it, so that access can be counted."
)


@dataclass(frozen=True)
class _Gap:
    kind: int
    begin: str


def missing_prices(ground: Ground, work: Works) -> tuple[Unpriced, ...]:
    """By kind and by what is missing; looks first, then repaints, repairs and access."""
    counts: dict[_Gap, int] = defaultdict(int)
    for kind, place, number in _unpriced(work):
        counts[_Gap(kind, _begin(ground, kind, place))] += number
    ordered = sorted(counts.items(), key=lambda each: (each[0].kind, each[0].begin))
    return tuple(
        Unpriced(KINDS[gap.kind], decimal_of(number), gap.begin) for gap, number in ordered
    )


def _unpriced(work: Works) -> Iterator[tuple[int, int, int]]:
    """Kind, property (of access: elevation) and number, added up."""
    import numpy as np

    work = work.only(work.priced == 0)
    place = np.where(work.kind == ACCESS, work.face, work.site)
    pairs = np.stack([work.kind, place], axis=1)
    different, which = np.unique(pairs, axis=0, return_inverse=True)
    numbers = np.zeros(len(different), dtype=np.int64)
    np.add.at(numbers, which.reshape(-1), work.number)
    for (kind, at), number in zip(different.tolist(), numbers.tolist(), strict=True):
        yield kind, at, number


def _begin(ground: Ground, kind: int, place: int) -> str:
    if kind == ACCESS:
        return _begin_access(ground, place)
    what = _RATES.get(kind, What.REPAIR)
    return _NO_LENGTH if (place, what) in ground.prices.rates else _NO_PRICE[what]


def begin_of(ground: Ground, kind: int, property: int, face: int) -> str:
    """What to type so that one job of a kind gets a price."""
    return _begin(ground, kind, face if kind == ACCESS else property)


def _begin_access(ground: Ground, face: int) -> str:
    elevation = ground.rows.elevations[face]
    if elevation.access == Elevation.Access.UNKNOWN:
        return _NOT_KNOWN
    if (elevation.property, elevation.access) in ground.prices.rates:
        return _NO_AREA
    name = Elevation.Access(elevation.access).label.lower()
    return f"Type a rate for access by {name}."

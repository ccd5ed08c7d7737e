"""Remarks with the place in an entry that each is about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from repairs.remarks import Remark


@dataclass(frozen=True)
class Where:
    """Counted from 0 within `RepairEntry.stages` and the stage's `batches`; both None for the
    repair as a whole."""

    stage: int | None = None
    batch: int | None = None

    def key(self, code: str) -> str:
        """Counted from 1, as people count: `stage-1.batch-2.ratio-off`."""
        if self.stage is None:
            return f"repair.{code}"
        if self.batch is None:
            return f"stage-{self.stage + 1}.{code}"
        return f"stage-{self.stage + 1}.batch-{self.batch + 1}.{code}"


@dataclass(frozen=True)
class PlacedRemark:
    """`key` is unique within an entry and stays the same while the entry does."""

    key: str
    where: Where
    remark: Remark


class _HeldBack(Exception):
    def __init__(self, remarks: tuple[PlacedRemark, ...]) -> None:
        super().__init__("; ".join(f"{placed.key}: {placed.remark.found}" for placed in remarks))
        self.remarks = remarks


class Refused(_HeldBack):
    """The entry is impossible; `remarks` say what stands in its way."""


class ReasonsNeeded(_HeldBack):
    """These warnings have no reason typed in yet."""


def placed(where: Where, remark: Remark) -> PlacedRemark:
    return PlacedRemark(where.key(remark.code), where, remark)


def numbered(remarks: Iterable[PlacedRemark]) -> tuple[PlacedRemark, ...]:
    """With the keys made unique: two expired lots in one batch are `…expired` and `…expired-2`."""
    seen: Counter[str] = Counter()
    found = []
    for remark in remarks:
        seen[remark.key] += 1
        times = seen[remark.key]
        found.append(remark if times == 1 else replace(remark, key=f"{remark.key}-{times}"))
    return tuple(found)

"""Remarks with the place in an entry that each is about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
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


def asked_with(remarks: Iterable[PlacedRemark]) -> dict[str, str]:
    """For each remark the key of the first with the same cause: one reason answers both. The same
    is said of two parts of one batch, or in the same words of three layers."""
    firsts: list[PlacedRemark] = []
    found = {}
    for one in remarks:
        first = next((earlier for earlier in firsts if _same_cause(earlier, one)), None)
        if first is None:
            firsts.append(one)
        found[one.key] = (first or one).key
    return found


def _same_cause(first: PlacedRemark, other: PlacedRemark) -> bool:
    a, b = first.remark, other.remark
    return (a.code, a.level) == (b.code, b.level) and (
        first.where == other.where or (a.found, a.limit) == (b.found, b.limit)
    )


def reasons_for(remarks: Iterable[PlacedRemark], typed: Mapping[str, str]) -> dict[str, str]:
    """The reason of each remark: typed for itself, else for the first with the same cause."""
    return {
        key: typed.get(key, "").strip() or typed.get(first, "").strip()
        for key, first in asked_with(remarks).items()
    }

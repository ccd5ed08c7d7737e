"""'Ready to paint': what a repair still waits for. Derived from its rows and an instant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from repairs.models import KeptRemark, Repair, SignOff, Stage

CURED = {Stage.Kind.TREAT, Stage.Kind.SEAL, Stage.Kind.FILL, Stage.Kind.PRIME, Stage.Kind.PAINT}


@dataclass(frozen=True)
class Readiness:
    """`curing` and `unknown` are stages, `holding` the remarks that wait for a person's word,
    `rejected` the sign-offs that turned the work down."""

    curing: tuple[Stage, ...]
    unknown: tuple[Stage, ...]
    holding: tuple[KeptRemark, ...]
    rejected: tuple[SignOff, ...]

    @property
    def ready(self) -> bool:
        return not (self.curing or self.unknown or self.holding or self.rejected)

    @property
    def cured_at(self) -> datetime | None:
        """When the last running cure ends."""
        return max((stage.ready_at for stage in self.curing if stage.ready_at), default=None)

    @property
    def state(self) -> str:
        """The word that draws its shape; see the states of the stylesheet."""
        if self.rejected or self.holding:
            return "held"
        if self.curing:
            return "curing"
        return "unknown" if self.unknown else "ready"


def readiness(
    stages: Sequence[Stage],
    remarks: Sequence[KeptRemark],
    sign_offs: Sequence[SignOff],
    at: datetime,
) -> Readiness:
    """`sign_offs` in the order in which they were given."""
    return Readiness(
        curing=tuple(stage for stage in stages if stage.ready_at and stage.ready_at > at),
        unknown=tuple(stage for stage in stages if stage.kind in CURED and stage.ready_at is None),
        holding=tuple(remark for remark in remarks if remark.holds and remark.released_on is None),
        rejected=tuple(_standing_rejections(sign_offs)),
    )


def _standing_rejections(sign_offs: Sequence[SignOff]) -> list[SignOff]:
    """The last word on the repair, and on each of its stages, where it is a rejection."""
    last = {sign_off.stage_id: sign_off for sign_off in sign_offs}
    return [sign_off for sign_off in last.values() if sign_off.verdict == SignOff.Verdict.REJECTED]


def readiness_of(repair: Repair, at: datetime) -> Readiness:
    """Reads `stages`, `remarks` and `sign_offs`, prefetched or not."""
    return readiness(
        list(repair.stages.all()), list(repair.remarks.all()), list(repair.sign_offs.all()), at
    )

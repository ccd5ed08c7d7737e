"""The lasting repairs that are in place and sound, and the curves of how long their like last."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db.models import FloatField
from django.db.models.functions import Cast

from properties.models.looked_after import of_looked_after_members
from properties.models.owners import PropertyQuerySet
from repairs.ahead.rows import LASTING, Place
from repairs.lives.rows import Asked, gather
from repairs.models import Repair
from repairs.models.repairs import RepairQuerySet
from repairs.survival import FEW_WORDS, Survival, survival

if TYPE_CHECKING:
    from repairs.lives.rows import RepairLife


@dataclass(frozen=True)
class StandingRepair:
    pk: int
    kind: str
    age_days: int
    place: Place


@dataclass(frozen=True)
class Curves:
    """By kind of repair: its own curve where enough are known, else that of all kinds together,
    else none."""

    by_kind: Mapping[str, Survival]
    whole: Survival

    def of(self, kind: str) -> Survival | None:
        own = self.by_kind.get(kind)
        if own is not None and own.is_enough:
            return own
        return self.whole if self.whole.is_enough else None

    def words(self) -> str:
        if not self.whole.is_enough:
            return (
                f"No failures of repairs are expected here, since too few have failed yet: of "
                f"{self.whole.count} lasting repairs on record {self.whole.failed} failed. "
                f"{FEW_WORDS}."
            )
        own = [Repair.Kind(kind).label.lower() for kind in LASTING if self._has_own(kind)]
        by = f"{' and '.join(own)} by their own lives, others by all together" if own else (
            "all kinds by all together"
        )  # fmt: skip
        return (
            f"Repairs in place are expected to fail as those on record have: {self.whole.failed} "
            f"of {self.whole.count} failed, {by}; the longest was observed for "
            f"{self.whole.longest:.1f} years. Beyond that nothing is known, and no failure is "
            "counted. Only the next failure of each repair is counted, not the one after."
        )

    def _has_own(self, kind: str) -> bool:
        own = self.by_kind.get(kind)
        return own is not None and own.is_enough


def curves_of(record: RepairQuerySet, on: date) -> Curves:
    """From the lasting repairs of a record; damage at the same spot is no failure of one."""
    lives = gather(record.filter(kind__in=LASTING), on, Asked()).lives
    whole = _curve(list(lives))
    of_kinds = {kind: [life for life in lives if life.kind == kind] for kind in LASTING}
    by_kind: dict[str, Survival] = {
        kind: whole if len(of_kind) == len(lives) else _curve(of_kind)
        for kind, of_kind in of_kinds.items()
    }
    return Curves(by_kind, whole)


def _curve(lives: list[RepairLife]) -> Survival:
    return survival([life.years for life in lives], [life.failed for life in lives])


def standing_repairs(
    kept: PropertyQuerySet, on: date, zones: Mapping[int, ZoneInfo]
) -> list[StandingRepair]:
    """Finished and lasting, on what still stands, with no later repair of the spot."""
    # Read apart and sifted here: asked for each repair, SQLite walks them all again for each.
    later = Repair.objects.standing().within(kept).exclude(kind=Repair.Kind.REPAINT)
    followed = set(later.filter(follows__isnull=False).order_by().values_list("follows", flat=True))
    sound = (
        Repair.objects.within(kept)
        .filter(
            of_looked_after_members(on, "member__"),
            state=Repair.State.FINISHED,
            temporary=False,
            kind__in=LASTING,
        )
        .order_by()
        .annotate(length=Cast("member__length_mm", FloatField()))
    )
    columns = (
        "pk", "kind", "began_at", "ended_at", "member_id", "member__elevation_id",
        "member__building_id", "member__building__property_id", "length",
    )  # fmt: skip
    found = []
    for pk, kind, began_at, ended_at, member, elevation, *rest in sound.values_list(*columns):
        place = Place(member, elevation or 0, *rest)
        done_on = (ended_at or began_at).astimezone(zones[place.property]).date()
        if done_on <= on and pk not in followed:
            found.append(StandingRepair(pk, kind, (on - done_on).days, place))
    return found

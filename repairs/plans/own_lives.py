"""How long repairs have lasted on a property, by its own record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from statistics import median

from properties.models import Property
from repairs.lives.rows import Asked, Ending, gather
from repairs.models import Repair

SHORT_LIST = 3


@dataclass(frozen=True)
class OwnLives:
    """Lives in years. `failed` are those that ended, shortest first, `sound` those that last to
    date; `gone` counts those that were sound when their member, building
    or property went."""

    kind: str
    failed: tuple[float, ...] = ()
    sound: tuple[float, ...] = ()
    gone: int = 0

    @property
    def count(self) -> int:
        return len(self.failed) + len(self.sound) + self.gone

    @property
    def shortest(self) -> float | None:
        return min(self.failed, default=None)

    @property
    def median_failed(self) -> float | None:
        return median(self.failed) if self.failed else None

    @property
    def words(self) -> str:
        name = Repair.Kind(self.kind).label.lower()
        if not self.count:
            return f"No lasting {name} is recorded on this property yet."
        parts = [self._failed_words(), self._sound_words()]
        if self.gone:
            parts.append(f"{self.gone} went while sound, with the member, building or property")
        told = "; ".join(part for part in parts if part)
        return f"Our own record on this property: {_counted(self.count, name)}; {told}."

    def _failed_words(self) -> str:
        if not self.failed:
            return "none has failed"
        if len(self.failed) <= SHORT_LIST:
            lives = [f"{life:.1f}" for life in self.failed]
            named = " and ".join(filter(None, [", ".join(lives[:-1]), lives[-1]]))
            return f"{len(self.failed)} failed, after {named} years"
        return (
            f"{len(self.failed)} failed, the first after {self.failed[0]:.1f} years and half of "
            f"them within {median(self.failed):.1f}"
        )

    def _sound_words(self) -> str:
        if not self.sound:
            return ""
        verb = "is" if len(self.sound) == 1 else "are"
        return f"{len(self.sound)} {verb} still sound, the oldest for {max(self.sound):.1f} years"


def _counted(number: int, name: str) -> str:
    return f"one {name}" if number == 1 else f"{number} {name}s"


def lives_here(kind: str, place: Property, on: date) -> OwnLives:
    """The lives of the lasting repairs of one kind, as they stood on a day and as
    `repairs.lives.rows` counts them; damage again at the same spot ends a life, too."""
    repairs = Repair.objects.filter(member__building__property=place, kind=kind)
    failed, sound, gone = [], [], 0
    for life in gather(repairs, on, Asked(again_fails=True)).lives:
        if life.failed:
            failed.append(life.years)
        elif life.ending == Ending.SOUND:
            sound.append(life.years)
        else:
            gone += 1
    return OwnLives(kind, tuple(sorted(failed)), tuple(sorted(sound)), gone)

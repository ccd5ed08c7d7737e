"""How long repairs have lasted on a property, by its own record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from statistics import median

from django.db.models import Min, Q

from properties.models import Property
from repairs.models import Repair

DAYS_OF_A_YEAR = 365.2425
SHORT_LIST = 3


@dataclass(frozen=True)
class OwnLives:
    """Lives in years. `failed` are those that ended, shortest first, `sound` those that last to
    date; `gone` counts those whose member was taken out while they were sound."""

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
    def still_sound(self) -> int:
        return len(self.sound)

    @property
    def words(self) -> str:
        name = Repair.Kind(self.kind).label.lower()
        if not self.count:
            return f"No lasting {name} is recorded on this property yet."
        parts = [self._failed_words(), self._sound_words()]
        if self.gone:
            parts.append(f"{self.gone} went with the member while sound")
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
    """The lives of the lasting repairs of one kind, as they stood on a day. A life ends when the
    repair is found failed, or when another repeats it or does it again."""
    repairs = (
        Repair.objects.filter(
            member__building__property=place,
            kind=kind,
            temporary=False,
            state__in=[Repair.State.FINISHED, Repair.State.FAILED],
        )
        .annotate(
            again_at=Min(
                "followed_by__began_at", filter=~Q(followed_by__state=Repair.State.WITHDRAWN)
            )
        )
        .order_by()
        .values_list("began_at", "failed_on", "again_at", "member__removed_on")
    )
    failed, sound, gone = [], [], 0
    for began_at, failed_on, again_at, removed_on in repairs:
        begun_on = place.day_of(began_at)
        if begun_on > on:
            continue
        ends = [failed_on, place.day_of(again_at) if again_at else None]
        ended_on = min((day for day in ends if day and day <= on), default=None)
        if ended_on is not None:
            failed.append(_years(begun_on, ended_on))
        elif removed_on is not None and removed_on <= on:
            gone += 1
        else:
            sound.append(_years(begun_on, on))
    return OwnLives(kind, tuple(sorted(failed)), tuple(sorted(sound)), gone)


def _years(first: date, last: date) -> float:
    return max(0, (last - first).days) / DAYS_OF_A_YEAR

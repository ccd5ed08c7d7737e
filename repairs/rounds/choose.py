"""The looks that a round can be made of: due, or nearly so, at the places asked for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from django.db.models import Min, Q

from properties.access import properties_for
from properties.models import Building, Elevation, Property
from repairs.due.words import state_of
from repairs.models import DueDate, Round, RoundStop
from repairs.models.due_dates import DueDateQuerySet
from repairs.rounds.stops import Access, PlaceGroup, by_access, in_walking_order
from repairs.rounds.whose import of_nobody, of_person

if TYPE_CHECKING:
    from django.contrib.auth.models import User

    from properties.models import Member

# More than anybody walks in a day, and what one form may carry.
MOST_CANDIDATES = 1000
LONGEST_NAME = 200


class Whose:
    ANYBODY, MINE, NOBODY = "", "mine", "nobody"
    CHOICES = ((ANYBODY, "Anybody's"), (MINE, "Mine"), (NOBODY, "Nobody's yet"))


@dataclass(frozen=True)
class Asked:
    """Where, by which kind of access, whose, and by which day a look's window has opened."""

    by: User
    on: date
    until: date
    property: Property | None = None
    building: Building | None = None
    elevation: Elevation | None = None
    access: str = ""
    whose: str = Whose.ANYBODY

    def dates(self) -> DueDateQuerySet:
        """Looks outstanding there, however far ahead."""
        seen = DueDate.objects.reminding(self.on).looks().within(properties_for(self.by))
        wanted = {
            "member__building__property": self.property,
            "member__building": self.building,
            "member__elevation": self.elevation,
        }
        found = seen.filter(**{path: row for path, row in wanted.items() if row is not None})
        return found.filter(self._reached_by(), self._given_to())

    def _reached_by(self) -> Q:
        if not self.access:
            return Q()
        asked = Q(member__elevation__access=self.access)
        if self.access == Access.UNKNOWN:
            return asked | Q(member__elevation__isnull=True)
        return asked

    def _given_to(self) -> Q:
        if self.whose == Whose.MINE:
            return of_person(self.by)
        return of_nobody() if self.whose == Whose.NOBODY else Q()


@dataclass(frozen=True)
class Candidate:
    """`in_round` is an open round that sets out to answer it already."""

    due: DueDate
    sign: str
    words: str
    in_round: Round | None

    @property
    def member(self) -> Member:
        return self.due.member


@dataclass(frozen=True)
class Choice:
    """What can be chosen, in walking order. `number` counts all of them, also those past the
    most that one page shows; `next_opens` is the day on which the next window opens."""

    groups: Sequence[PlaceGroup[Candidate]]
    number: int
    shown: int
    next_opens: date | None


def candidates(asked: Asked) -> Choice:
    """In five queries at most, however many there are."""
    opened = asked.dates().filter(_opened_by(asked))
    rows = list(opened.with_place().order_by("due_on", "pk")[: MOST_CANDIDATES + 1])
    number = len(rows) if len(rows) <= MOST_CANDIDATES else opened.count()
    shown = in_walking_order(rows[:MOST_CANDIDATES])
    taken = open_rounds_of(due.pk for due in shown)
    made = [Candidate(due, *state_of(due, asked.on), taken.get(due.pk)) for due in shown]
    return Choice(
        groups=by_access(made, lambda each: each.member),
        number=number,
        shown=len(made),
        next_opens=None if rows else _next_opens(asked),
    )


def _opened_by(asked: Asked) -> Q:
    """Windows differ in length by rule, of which there are few: each length is asked by itself,
    so that the database compares days and computes none."""
    opened = Q(pk__in=[])
    for days in asked.dates().order_by().values_list("window_days", flat=True).distinct():
        opened |= Q(window_days=days, due_on__lte=asked.until + timedelta(days=days))
    return opened


def _next_opens(asked: Asked) -> date | None:
    dates = asked.dates().order_by().values_list("window_days")
    firsts = dates.annotate(first=Min("due_on"))
    return min((first - timedelta(days=days) for days, first in firsts), default=None)


def open_rounds_of(dues: Iterable[int]) -> dict[int, Round]:
    """The open round in which a date is still to be answered, by the date's key."""
    stops = RoundStop.objects.to_do().filter(due__in=list(dues), round__ended_on__isnull=True)
    return {stop.due_id: stop.round for stop in stops.select_related("round")}


def proposed_name(groups: Sequence[PlaceGroup[Candidate]]) -> str:
    """'Mill Row, tower', by what the looks have in common; its day is told beside it."""
    places = [group.place for group in groups]
    properties = list(dict.fromkeys(place.property for place in places))
    if not properties:
        return ""
    words = [properties[0].name]
    if len(properties) > 1:
        words = [f"{properties[0].name} and {len(properties) - 1} more"]
    elif len({place.building for place in places}) == 1:
        words.append(places[0].building.name)
    if len({place.access for place in places}) == 1 and places[0].access != Access.UNKNOWN:
        words.append(places[0].access_words())
    return ", ".join(words)[:LONGEST_NAME]

"""A round as it is taken along on paper: what is due at each stop, how it stood, and what to mind.

Few queries, however many stops: the stops, their last looks, photographs and open defects."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from properties.models import Defect, Elevation, Member, Property
from repairs.due.words import counted, state_of
from repairs.looks.page import no_longer_words, rating_words
from repairs.looks.ratings import NAMES
from repairs.models import DueDate, Inspection, Photograph, Round, RoundStop
from repairs.remarks.limits import HEIGHT_CAUTION
from repairs.remarks.remark import Remark
from repairs.rounds.order import ACCESS_ORDER
from repairs.rounds.stops import Access, PlaceGroup, by_elevation, place_of
from repairs.stories.member_cautions import cautions_about

# A larger round is printed without photographs: each takes a tenth of a second and its weight.
MOST_PICTURES = 60
# The cautions of a member by their codes, as short as a stop has room for; the worst first.
SHORT = {
    "strength-in-doubt": "Strength in doubt, keep off",
    "carries-load": "An engineer decides",
    "old-paint": "Presume lead",
}
Result = Inspection.Result


@dataclass(frozen=True)
class Caution:
    """What to mind, and at which stops; `where` is empty where it holds for the whole round."""

    words: str
    where: str = ""


@dataclass(frozen=True)
class SheetStop:
    """One stop to fill in. `last` and `ratings` tell of the last look, empty if none is kept."""

    number: int
    due: DueDate
    due_words: str
    last: Inspection | None
    ratings: str
    cautions: tuple[Remark, ...]
    defects: tuple[str, ...]
    photograph: Photograph | None

    @property
    def member(self) -> Member:
        return self.due.member

    @property
    def picture(self) -> str:
        """The name of its photograph in the store, empty without one."""
        return (self.photograph.file.name or "") if self.photograph else ""

    @property
    def mind(self) -> list[str]:
        return [SHORT[each.code] for each in self.cautions]


@dataclass(frozen=True)
class RoundSheet:
    round: Round
    groups: Sequence[PlaceGroup[SheetStop]]
    number: int
    elsewhere: str
    access: str
    cautions: tuple[Caution, ...]
    notice: str
    without_pictures: bool
    on: date

    @property
    def places(self) -> dict[Property, list[str]]:
        """The names of the buildings on each property, in walking order."""
        found: dict[Property, list[str]] = defaultdict(list)
        for group in self.groups:
            names = found[group.place.property]
            if group.place.building.name not in names:
                names.append(group.place.building.name)
        return dict(found)


def round_sheet(round: Round, on: date) -> RoundSheet:
    """The stops still to be looked at, in the order of the round, on the day of printing."""
    stops = list(_with_last(round.stops.with_place()))
    to_do = [stop for stop in stops if stop.is_to_do()]
    told = list(_told(to_do, max(round.walk_on, on)))
    return RoundSheet(
        round=round,
        groups=by_elevation(told, lambda stop: stop.member),
        number=len(told),
        elsewhere=_elsewhere(stops),
        access=_access(to_do),
        cautions=tuple(_cautions(told)),
        notice=_notice(round),
        without_pictures=len(to_do) > MOST_PICTURES,
        on=on,
    )


def _notice(round: Round) -> str:
    if round.ended_on is None:
        return ""
    why = round.ended_because.removesuffix(".")
    return f"This round ended on {round.ended_on:%-d %B %Y}: {why}. Do not walk by this sheet."


def _elsewhere(stops: Iterable[RoundStop]) -> str:
    """'Not on this sheet: three stops done with already and one stop left out.'"""
    gone = [stop for stop in stops if not stop.is_to_do()]
    left_out = sum(bool(stop.left_out_because) for stop in gone)
    words = ((len(gone) - left_out, "done with already"), (left_out, "left out"))
    parts = [f"{counted(number, 'stop', 'stops')} {said}" for number, said in words if number]
    return f"Not on this sheet: {' and '.join(parts)}." if parts else ""


def _access(stops: Sequence[RoundStop]) -> str:
    """'From the ground (4), ladder (2)', the quickest to set up first."""
    counts: dict[str, int] = defaultdict(int)
    for stop in stops:
        counts[place_of(stop.due.member).access] += 1
    words = [f"{Access(each).label} ({counts[each]})" for each in ACCESS_ORDER if each in counts]
    return ", ".join([words[0], *map(str.lower, words[1:])]) if words else ""


# The stops


def _with_last(stops: QuerySet[RoundStop]) -> QuerySet[RoundStop]:
    """Adds the keys of the last look, of the repair where the stop is about one, and of the
    newest photograph."""
    looks = Inspection.objects.exclude(result=Result.NOT_REACHED)
    looks = looks.filter(member=OuterRef("due__member")).order_by("-looked_on", "-pk")
    photographs = Photograph.objects.filter(member=OuterRef("due__member")).order_by("-pk")
    at_repair = {"repair": OuterRef("due__repair")}
    return stops.annotate(
        last_look=Subquery(looks.values("pk")[:1]),
        last_at_repair=Subquery(looks.filter(**at_repair).values("pk")[:1]),
        picture=Coalesce(
            Subquery(photographs.filter(**at_repair).values("pk")[:1]),
            Subquery(photographs.values("pk")[:1]),
        ),
    )


def _told(stops: Sequence[RoundStop], on: date) -> Iterator[SheetStop]:
    looks = Inspection.objects.in_bulk(set(filter(None, map(_look_of, stops))))
    pictures: dict[int, Photograph] = {}
    if len(stops) <= MOST_PICTURES:
        pictures = Photograph.objects.in_bulk({_picture_of(stop) for stop in stops} - {None})
    defects = _defects(stops)
    for stop in stops:
        last = looks.get(_look_of(stop) or 0)
        found = defects.get(stop.due.member_id, ())
        yield SheetStop(
            number=stop.position,
            due=stop.due,
            due_words=_due_words(stop.due, on),
            last=last,
            ratings=ratings_in_words(last) if last else "",
            cautions=tuple(cautions_about(stop.due.member, found)),
            defects=tuple(_defect_words(defect) for defect in found),
            photograph=pictures.get(_picture_of(stop) or 0),
        )


def _look_of(stop: RoundStop) -> int | None:
    name = "last_look" if stop.due.repair_id is None else "last_at_repair"
    found: int | None = getattr(stop, name)
    return found


def _picture_of(stop: RoundStop) -> int | None:
    found: int | None = getattr(stop, "picture", None)
    return found


def _defects(stops: Sequence[RoundStop]) -> dict[int, list[Defect]]:
    members = {stop.due.member_id for stop in stops}
    found: dict[int, list[Defect]] = defaultdict(list)
    rows = Defect.objects.outstanding().filter(member__in=members).select_related("member")
    for defect in rows.most_urgent_first():
        found[defect.member_id].append(defect)
    return found


def _due_words(due: DueDate, on: date) -> str:
    """'due 4 June 2026, from 21 May on', or for how long it has been overdue on the day."""
    day = f"due {due.due_on:%-d %B %Y}"
    if ended := no_longer_words(due.member, on):
        return f"{day}. {ended.removesuffix('.')}"
    if due.is_overdue(on):
        return f"{day}. {state_of(due, on)[1]}"
    return f"{day}, from {due.opens_on():%-d %B %Y} on" if due.window_days else day


def _defect_words(defect: Defect) -> str:
    said = f"{defect.get_kind_display()}, {defect.get_zone_display().lower()}"
    return f"{said}, found {defect.found_on:%-d %B %Y}"


def ratings_in_words(look: Inspection) -> str:
    """'Flaking 2, slight. Not recorded: chalking. Not applicable: cross-cut.'"""
    said, missing, senseless = [], [], []
    for name, label in NAMES.items():
        words = rating_words(look, name)
        if name in look.not_applicable:
            senseless.append(label.lower())
        elif words:
            said.append(f"{label} {words}")
        else:
            missing.append(label.lower())
    if look.edge:
        said.append(f"Edge: {look.get_edge_display().lower()}")
    if look.condition:
        said.append(f"Condition {look.get_condition_display()}")
    if missing:
        said.append(f"Not recorded: {', '.join(missing)}")
    if senseless:
        said.append(f"Not applicable: {', '.join(senseless)}")
    return "".join(f"{each}. " for each in said).strip()


# What to mind


def _cautions(stops: Sequence[SheetStop]) -> Iterator[Caution]:
    """What the single cautions say, once for the round, with the stops that they hold for."""
    if any(_at_height(stop) for stop in stops):
        yield Caution(HEIGHT_CAUTION)
    numbers: dict[str, list[int]] = defaultdict(list)
    advice: dict[str, str] = {}
    for stop in stops:
        for each in stop.cautions:
            numbers[each.code].append(stop.number)
            advice[each.code] = each.advice
    for code in SHORT:
        if code in numbers:
            yield Caution(advice[code], f"{SHORT[code]}, {in_ranges(numbers[code])}")


def _at_height(stop: SheetStop) -> bool:
    elevation = stop.member.elevation
    known = {Elevation.Access.GROUND, Elevation.Access.UNKNOWN}
    return elevation is not None and elevation.access not in known


def in_ranges(numbers: Iterable[int]) -> str:
    """'stop 3', or 'stops 1 to 4, 7'."""
    ordered = sorted(set(numbers))
    runs = groupby(enumerate(ordered), key=lambda each: each[1] - each[0])
    parts = []
    for _, run in runs:
        held = [number for _, number in run]
        parts.append(str(held[0]) if len(held) == 1 else f"{held[0]} to {held[-1]}")
    return f"stop{'' if len(ordered) == 1 else 's'} {', '.join(parts)}"

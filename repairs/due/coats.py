"""Coatings as they were rated: each time a whole member was painted, and the ratings until the
next time. Read for many members in few queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise

from django.db.models import Case, Exists, F, OuterRef, Q, When

from properties.models import Member
from repairs.coating_life import Rated
from repairs.due.results import COATING_DEFECTS, WorstOfCoating, worst_of_coating
from repairs.due.worked_on import painted_on
from repairs.models import Inspection, Repair, Stage

DAYS_A_YEAR = 365.25
# More would hardly sharpen a curve, and would be read at every look: a choice, no source.
NEWEST_RATINGS = 500
# All that the day of its last coat is told by, beside its stages; the rest need not be read.
PLACE = "member__building__property"
DAY_OF_PAINT = (
    "kind", "began_at", "ended_at", "member__building__property__time_zone",
)  # fmt: skip
# Of these one cannot say that another member stands alike.
NOT_ALIKE = {"", "unknown", "none", "other"}


@dataclass(frozen=True)
class RatedOn:
    day: date
    worst: WorstOfCoating


@dataclass(frozen=True)
class Coat:
    """One coating of a whole member: the day it was painted, and its ratings, the oldest first;
    of several on one day the worst, so that a look recorded by two people counts once."""

    member_id: int
    painted_on: date
    ratings: tuple[RatedOn, ...]

    def rated(self) -> list[Rated]:
        return [
            Rated((each.day - self.painted_on).days / DAYS_A_YEAR, float(each.worst.rating))
            for each in self.ratings
        ]


@dataclass(frozen=True)
class _Seen:
    """A rating; `patch_on` is the day of the patch looked at, if that was painted by itself."""

    rated: RatedOn
    patch_on: date | None


def paints_all(repair: Repair) -> bool:
    """Whether it renewed the coating of the whole member, and not of a patch."""
    return repair.kind == Repair.Kind.REPAINT or repair.zone == "whole"


def is_described(member: Member) -> bool:
    """Whether enough is recorded to say which members are like it."""
    return not NOT_ALIKE & {member.finish, member.exposure}


def coats_alike(members: Sequence[Member]) -> dict[int, list[Coat]]:
    """The coatings, by member and the oldest first, of these members, which are all alike, and of
    those that have the same finish and exposure on any property and were rated last; of these
    alone where either is not recorded. Four queries, whatever their number."""
    asked = {member.pk for member in members}
    ratings = _ratings(Q(member__in=asked))
    if is_described(members[0]):
        alike = Q(member__finish=members[0].finish, member__exposure=members[0].exposure)
        ratings |= _ratings(alike & ~Q(member__in=asked), NEWEST_RATINGS)
    return {
        member_id: list(_coats(member_id, days, ratings.get(member_id, [])))
        for member_id, days in _painted_days(asked | set(ratings)).items()
    }


def _painted_days(members: Collection[int]) -> dict[int, list[date]]:
    whole = Q(kind=Repair.Kind.REPAINT) | Q(zone="whole", stages__kind=Stage.Kind.PAINT)
    repairs = Repair.objects.standing().filter(whole, member__in=members).distinct()
    days = defaultdict(set)
    for repair in repairs.select_related(PLACE).only(*DAY_OF_PAINT).prefetch_related("stages"):
        if (day := painted_on(repair)) is not None:
            days[repair.member_id].add(day)
    return {member_id: sorted(found) for member_id, found in days.items()}


def _ratings(of: Q, newest: int | None = None) -> dict[int, list[_Seen]]:
    """By member; the newest of all, if so many are asked for."""
    rated = Q(*((f"{name}__isnull", False) for name in COATING_DEFECTS), _connector=Q.OR)
    looks = Inspection.objects.filter(of, rated).exclude(result=Inspection.Result.NOT_REACHED)
    painted = Stage.objects.filter(repair=OuterRef("repair"), kind=Stage.Kind.PAINT)
    patch = Q(repair__isnull=False) & ~Q(repair__zone="whole") & Q(Exists(painted))
    began_at = Case(When(patch, then=F("repair__began_at")))
    rows = looks.order_by("-looked_on", "-pk").values_list(
        "member_id", "looked_on", began_at, *COATING_DEFECTS
    )
    found = defaultdict(list)
    for member_id, day, patch_at, *ratings in rows[:newest]:
        patch_on = patch_at.date() if patch_at else None
        found[member_id].append(_Seen(RatedOn(day, _worst(ratings)), patch_on))
    return found


def _worst(ratings: Iterable[Decimal | None]) -> WorstOfCoating:
    worst = worst_of_coating(dict(zip(COATING_DEFECTS, ratings, strict=True)))
    assert worst is not None
    return worst


def _coats(member_id: int, days: list[date], ratings: list[_Seen]) -> Iterable[Coat]:
    """A rating of the day of painting itself was of the coat before. A look at a patch painted
    since then rated the paint of the patch, and tells nothing of the coat around it."""
    for begins, ends in pairwise([*days, date.max]):
        on_it = [
            each.rated
            for each in ratings
            if begins < each.rated.day <= ends
            and (each.patch_on is None or each.patch_on <= begins)
        ]
        yield Coat(member_id, begins, tuple(_one_a_day(on_it)))


def _one_a_day(ratings: Iterable[RatedOn]) -> list[RatedOn]:
    worst: dict[date, RatedOn] = {}
    for each in ratings:
        known = worst.get(each.day)
        if known is None or each.worst.rating > known.worst.rating:
            worst[each.day] = each
    return [worst[day] for day in sorted(worst)]

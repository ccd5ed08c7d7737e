"""Coatings as they were rated: each time a whole member was painted, and the ratings until the
next time. Read for many members in few queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
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
# More would not sharpen a curve, and would be read at every look.
NEWEST_RATINGS = 2000
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


def coats_alike(member: Member) -> dict[int, list[Coat]]:
    """The coatings, by member and the oldest first, of this member and of all with the same
    finish and exposure on any property; of this one alone where either is not recorded. Three
    queries, whatever their number."""
    alike = Q(member=member.pk)
    if is_described(member):
        alike |= Q(member__finish=member.finish, member__exposure=member.exposure)
    ratings = _ratings(alike)
    return {
        member_id: list(_coats(member_id, days, ratings[member_id]))
        for member_id, days in _painted_days(alike).items()
    }


def _painted_days(alike: Q) -> dict[int, list[date]]:
    whole = Q(kind=Repair.Kind.REPAINT) | Q(zone="whole", stages__kind=Stage.Kind.PAINT)
    repairs = Repair.objects.standing().filter(alike).filter(whole).distinct()
    days = defaultdict(set)
    place = "member__building__property"
    for repair in repairs.select_related(place).prefetch_related("stages"):
        if (day := painted_on(repair)) is not None:
            days[repair.member_id].add(day)
    return {member_id: sorted(found) for member_id, found in days.items()}


def _ratings(alike: Q) -> dict[int, list[_Seen]]:
    """The newest of all, by member."""
    rated = Q(*((f"{name}__isnull", False) for name in COATING_DEFECTS), _connector=Q.OR)
    looks = Inspection.objects.filter(alike, rated).exclude(result=Inspection.Result.NOT_REACHED)
    painted = Stage.objects.filter(repair=OuterRef("repair"), kind=Stage.Kind.PAINT)
    patch = Q(repair__isnull=False) & ~Q(repair__zone="whole") & Q(Exists(painted))
    began_at = Case(When(patch, then=F("repair__began_at")))
    rows = looks.order_by("-looked_on", "-pk").values_list(
        "member_id", "looked_on", began_at, *COATING_DEFECTS
    )
    found = defaultdict(list)
    for member_id, day, patch_at, *ratings in rows[:NEWEST_RATINGS]:
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

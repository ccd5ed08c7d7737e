"""What the page of one look shows: its ratings in words, and what followed from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from properties.models import Member, MoistureReading
from repairs.due.after_look import judged
from repairs.due.results import Verdict
from repairs.due.words import in_days
from repairs.looks.ratings import NAMES, STANDARDS, rating_in_words, size_in_words
from repairs.models import DueDate, Inspection, Photograph

Result = Inspection.Result
RESULT_WORDS = {
    Result.SOUND: "found sound",
    Result.WATCH: "to be watched",
    Result.REDO: "to be done again",
    Result.NOT_REACHED: "it could not be reached",
}


@dataclass(frozen=True)
class RatingLine:
    name: str
    standard: str
    words: str  # empty where not recorded
    before: str


@dataclass(frozen=True)
class LookPage:
    lead: str
    ratings: tuple[RatingLine, ...]
    moisture: Sequence[MoistureReading]
    photographs: Sequence[Photograph]
    next_dates: Sequence[DueDate]
    days_late: int
    verdict: Verdict
    ended: str


def look_before(inspection: Inspection) -> Inspection | None:
    """The look before this one, at the same repair where it is a look at a repair."""
    earlier = Inspection.objects.filter(
        member=inspection.member, looked_on__lte=inspection.looked_on
    ).exclude(result=Result.NOT_REACHED)
    if inspection.repair_id is not None:
        earlier = earlier.filter(repair=inspection.repair_id)
    if inspection.pk is not None:
        earlier = earlier.exclude(pk=inspection.pk).exclude(
            looked_on=inspection.looked_on, pk__gt=inspection.pk
        )
    return earlier.order_by("-looked_on", "-pk").first()


def rating_words(inspection: Inspection | None, name: str) -> str:
    if inspection is None:
        return ""
    if name in inspection.not_applicable:
        return "Not applicable"
    value = getattr(inspection, name)
    if value is None:
        return ""
    depth = inspection.flaking_depth if name == "flaking" else ""
    size = size_in_words(name, getattr(inspection, f"{name}_size", ""), depth)
    return "; ".join(filter(None, [rating_in_words(name, value), size]))


def no_longer_words(member: Member, on: date) -> str:
    """Why nothing more is planned on a member, and where to go on; empty while it is looked
    after."""
    if member.is_looked_after(on):
        return ""
    building, of = member.building, member.building.property
    if member.removed_on is not None and member.removed_on <= on:
        successor = Member.objects.filter(supersedes=member).first()
        then = f" {successor.mark} stands in its place: look at that." if successor else ""
        return f"{member.mark} was taken out on {_day(member.removed_on)}.{then}"
    if building.demolished_on is not None and building.demolished_on <= on:
        return f"{building.name} was demolished on {_day(building.demolished_on)}."
    assert of.given_up_on is not None
    return f"{of.name} is no longer looked after since {_day(of.given_up_on)}."


def _day(day: date) -> str:
    return f"{day:%-d %B %Y}"


def look_page(inspection: Inspection, on: date) -> LookPage:
    before = look_before(inspection)
    due = inspection.due
    answered = due is not None and inspection.result != Result.NOT_REACHED
    late = due.days_late(inspection.looked_on) if due and answered else 0
    planned = DueDate.objects.outstanding().filter(member=inspection.member)
    verdict = judged(inspection)
    ratings = tuple(
        RatingLine(
            NAMES[name],
            STANDARDS[name],
            rating_words(inspection, name),
            rating_words(before, name),
        )
        for name in NAMES
    )
    return LookPage(
        lead=_lead(inspection, late),
        ratings=ratings,
        moisture=list(inspection.moisture.all()),
        photographs=list(inspection.photographs.all()),
        next_dates=list(planned.with_place()),
        days_late=late,
        verdict=verdict,
        ended=no_longer_words(inspection.member, on),
    )


def _lead(inspection: Inspection, late: int) -> str:
    who = inspection.looked_by_name
    if inspection.looked_by is not None:
        who = inspection.looked_by.get_full_name() or inspection.looked_by.get_username()
    day = f"on {inspection.looked_on:%-d %B %Y}"
    mark, found = inspection.member.mark, RESULT_WORDS[Result(inspection.result)]
    looked = f"{who} looked at {mark} {day}" if who else f"{mark} was looked at {day}"
    return f"{looked}, {in_days(late)} late: {found}." if late else f"{looked}: {found}."

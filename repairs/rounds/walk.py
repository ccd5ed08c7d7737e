"""Walking a round: one look at one stop, and 'as before' in one tap."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any
from uuid import UUID

from django.db import transaction

from repairs.due.held import hold_members
from repairs.due.worked_on import worked_on
from repairs.looks.page import no_longer_words, rating_words
from repairs.looks.ratings import NAMES
from repairs.looks.record import AlreadyRecorded, InspectionEntry, record_inspection
from repairs.looks.subject import LookSubject
from repairs.looks.words import as_last_time
from repairs.models import Inspection, Repair, RoundStop

if TYPE_CHECKING:
    from django.contrib.auth.models import User

Result = Inspection.Result
Occasion = Inspection.Occasion


class CannotLook(Exception):
    """Why no look is recorded at a stop, as a sentence; `about_day` where another day of the
    look would do."""

    def __init__(self, words: str, about_day: bool = False) -> None:
        super().__init__(words)
        self.words, self.about_day = words, about_day


@transaction.atomic
def look_at_stop(stop: RoundStop, entry: InspectionEntry, by: User, on: date) -> Inspection:
    """Record a look and tick its stop off. AlreadyRecorded names the look of somebody who was
    quicker; CannotLook says why there is none to make. A look sent twice is recorded once."""
    stop = _held(stop)
    earlier = Inspection.objects.filter(submission=entry.inspection.submission).first()
    if earlier is not None:
        return earlier
    if stop.inspection is not None:
        raise AlreadyRecorded(stop.inspection)
    _refuse(stop, entry.inspection.looked_on)
    inspection = record_inspection(entry, by, on)
    _tick_off(stop, inspection)
    return inspection


def _held(stop: RoundStop) -> RoundStop:
    """As it stands now, and until the transaction ends."""
    hold_members([stop.due.member_id])
    stops = RoundStop.objects.select_for_update(of=("self",)).with_place()
    return stops.select_related("round").get(pk=stop.pk)


def _refuse(stop: RoundStop, looked_on: date) -> None:
    due, member = stop.due, stop.due.member
    if stop.round.ended_on is not None:
        raise CannotLook(
            f"This round was ended on {stop.round.ended_on:%-d %B %Y} "
            f"({stop.round.ended_because}). Keep your look apart from it."
        )
    if due.cancelled_on is not None:
        raise CannotLook(
            f"This look was called off on {due.cancelled_on:%-d %B %Y}: {due.cancelled_reason}. "
            "Keep yours as an extra look, or go on."
        )
    if ended := no_longer_words(member, looked_on):
        raise CannotLook(
            f"{ended} Type the day of the look if it was made before, or leave this stop out.",
            about_day=True,
        )


def _tick_off(stop: RoundStop, inspection: Inspection) -> None:
    """What was left out and then looked at after all was not left out."""
    stop.inspection, stop.left_out_because = inspection, ""
    stop.save(update_fields=["inspection", "left_out_because"])


@transaction.atomic
def look_apart(stop: RoundStop, entry: InspectionEntry, by: User, on: date) -> Inspection:
    """Keep a look that the stop cannot take: beside the look of another person, or after the
    round was ended. It answers the date where that is still to be answered."""
    stop = _held(stop)
    if not stop.due.is_outstanding():
        entry.inspection.due = None
    return record_inspection(entry, by, on)


# As before


def subject_of(stop: RoundStop) -> LookSubject:
    return LookSubject(stop.due.member, stop.due.repair, stop.due)


def look_to_repeat(stop: RoundStop, on: date) -> Inspection | None:
    """The last look, where 'as before' can be said of it: one at the same thing, not 'redo',
    with no work on the member since, and the member still looked after."""
    last = subject_of(stop).last_look()
    if last is None or last.result == Result.REDO or last.repair_id != stop.due.repair_id:
        return None
    if last.due_id == stop.due_id or not stop.due.member.is_looked_after(on):
        return None
    return None if _worked_on_since(stop, last.looked_on) else last


def _worked_on_since(stop: RoundStop, day: date) -> bool:
    repairs = Repair.objects.filter(member=stop.due.member)
    lasting = repairs.exclude(state=Repair.State.WITHDRAWN)
    return any(
        worked_on(repair) > day for repair in lasting.select_related("member__building__property")
    )


def as_before_words(last: Inspection) -> str:
    """'As before: sound – flaking 1, cracking 0'."""
    rated = [
        f"{NAMES[name].lower()} {rating_words(last, name).split(',')[0].lower()}"
        for name in NAMES
        if rating_words(last, name)
    ]
    told = f"As before: {last.get_result_display().lower()}"
    return f"{told} – {', '.join(rated)}" if rated else told


def as_before(stop: RoundStop, last: Inspection, by: User, key: UUID, on: date) -> dict[str, Any]:
    """What the form of a look would be sent, repeating the last look by this person on this day.
    What was measured or photographed then is not repeated, and the notes say that it is a
    repetition."""
    notes = f"As before: nothing has changed since the look of {last.looked_on:%-d %B %Y}."
    return {
        **first_values(stop, by, on),
        **as_last_time(last),
        "key": key,
        "zone": last.zone,
        "edge": last.edge,
        "condition": last.condition,
        "urgency": last.urgency,
        "result": last.result,
        "notes": notes,
    }


def first_values(stop: RoundStop, by: User, on: date) -> dict[str, Any]:
    """What a fresh form of a look at a stop begins with."""
    repair = stop.due.repair
    return {
        "looked_on": on,
        "looked_by": by.pk,
        "due": stop.due_id,
        "occasion": Occasion.AFTER_REPAIR if repair else Occasion.ROUTINE,
        "zone": repair.zone if repair else "whole",
        "defect_kind": "failed_repair" if repair else "",
    }

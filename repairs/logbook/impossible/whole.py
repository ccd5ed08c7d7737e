"""What cannot be of a repair as a whole."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from repairs.logbook.entry import RepairEntry
from repairs.logbook.placed import PlacedRemark
from repairs.models import Plan, Repair
from repairs.plans.keep import CLOSED

from .stop import AHEAD, EARLIEST, WHOLE, stop, times

LONGEST_WAIT = timedelta(days=50 * 366)


def in_the_whole(entry: RepairEntry, at: datetime) -> Iterator[PlacedRemark]:
    yield from times(WHOLE, "The repair", entry.began_at, entry.ended_at, at)
    follows = entry.follows
    if entry.relation == Repair.Relation.FIRST and follows is not None:
        yield stop(
            WHOLE,
            "first-follows",
            "A first repair that follows an earlier one.",
            "a first repair follows none",
            "Choose 'repeat' or 'redo', or leave the earlier repair out.",
        )
    if entry.relation != Repair.Relation.FIRST and follows is None:
        yield stop(
            WHOLE,
            "follows-none",
            "A repeat or redo without the earlier repair.",
            "a repeat or redo names the repair that it follows",
            "Pick the earlier repair.",
        )
    if follows is not None and follows.member_id != entry.member.pk:
        yield stop(
            WHOLE,
            "follows-elsewhere",
            "The earlier repair was on another member.",
            "a repair follows one on the same member",
            "Pick a repair of this member.",
        )
    if follows is not None and follows.state == Repair.State.WITHDRAWN:
        yield stop(
            WHOLE,
            "follows-withdrawn",
            "The earlier repair was withdrawn.",
            "only a repair that was done can be followed",
            "Pick another earlier repair.",
        )
    if any(defect.member_id != entry.member.pk for defect in entry.defects):
        yield stop(
            WHOLE,
            "defect-elsewhere",
            "One of the defects is on another member.",
            "a repair answers defects of its own member",
            "Pick defects of this member.",
        )
    yield from _plan(entry)
    yield from _days(entry, at)


def _plan(entry: RepairEntry) -> Iterator[PlacedRemark]:
    """The plan as it stands now: somebody may have logged or dropped it while this was typed."""
    if entry.plan is None:
        return
    plan = Plan.objects.select_related("defect").get(pk=entry.plan.pk)
    if not plan.is_still_planned():
        yield plan_is_closed(CLOSED[Plan.State(plan.state)])
    elif plan.defect.member_id != entry.member.pk:
        yield stop(
            WHOLE,
            "plan-elsewhere",
            "The plan is for another member.",
            "a repair carries out a plan for its own member",
            "Log it without the plan, or choose the plan's member.",
        )


def plan_is_closed(sentence: str) -> PlacedRemark:
    return stop(
        WHOLE,
        "plan-closed",
        sentence,
        "a plan is logged once, while it is still planned",
        "Save again to log this as a repair without the plan.",
    )


def _days(entry: RepairEntry, at: datetime) -> Iterator[PlacedRemark]:
    """Days that people type beside the work itself."""
    new = entry.new_defect
    if new is not None and not EARLIEST <= new.found_on <= (at + AHEAD).date():
        yield stop(
            WHOLE,
            "found-day",
            f"A defect found on {new.found_on:%-d %B %Y}.",
            f"from {EARLIEST.year} to today",
            "Correct the day on which it was found.",
        )
    look = entry.next_look_on
    first = entry.member.building.property.day_of(entry.ended_at or entry.began_at)
    if look is not None and not first <= look <= first + LONGEST_WAIT:
        yield stop(
            WHOLE,
            "next-look",
            f"The next look on {look:%-d %B %Y}.",
            "after the work, and within fifty years",
            "Correct the day, or leave it empty for the day that the rules set.",
        )

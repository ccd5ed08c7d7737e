"""How a round and each of its stops stand, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.db.models import Count, Prefetch, Q

from repairs.due.words import capital, counted
from repairs.looks.page import no_longer_words
from repairs.models import Inspection, Round, RoundStop
from repairs.models.rounds import RoundQuerySet, RoundStopQuerySet
from repairs.rounds.stops import where_words

if TYPE_CHECKING:
    from django.contrib.auth.models import User

    from properties.models import Member

Result = Inspection.Result
SIGNS = {Result.SOUND: "sound", Result.WATCH: "watch", Result.REDO: "redo",
         Result.NOT_REACHED: "unknown"}  # fmt: skip


def with_looks(stops: RoundStopQuerySet) -> RoundStopQuerySet:
    """With all that its words are read from: two queries for any number of stops."""
    answers = Inspection.objects.exclude(result=Result.NOT_REACHED).select_related("looked_by")
    return (
        stops.with_place()
        .select_related("inspection__looked_by")
        .prefetch_related(Prefetch("due__inspections", queryset=answers, to_attr="answers"))
    )


def answer_of(stop: RoundStop) -> Inspection | None:
    """The look made here, else the one that answered the date apart from the round; the latter
    too where the round could not reach the member."""
    here = stop.inspection
    if here is not None and here.result != Result.NOT_REACHED:
        return here
    answers: list[Inspection] = stop.due.answers  # type: ignore[attr-defined]
    if answers:
        return answers[0]
    return here if stop.due.done_on is None else None


def looker_words(look: Inspection) -> str:
    if look.looked_by is not None:
        return look.looked_by.get_full_name() or look.looked_by.get_username()
    return look.looked_by_name or "somebody"


def look_words(look: Inspection) -> str:
    """'Sound, 4 May 2027, Robin Larch'."""
    result = look.get_result_display()
    return f"{result}, {look.looked_on:%-d %B %Y}, {looker_words(look)}"


@dataclass(frozen=True)
class StopState:
    """`to_do` also for what is no longer looked after: somebody has to leave it out."""

    sign: str
    words: str
    to_do: bool = False


def stop_state(stop: RoundStop, on: date) -> StopState:
    """Needs a stop as `with_looks` brings it."""
    look, due = answer_of(stop), stop.due
    if look is not None:
        apart = "" if look == stop.inspection else "; apart from this round"
        return StopState(SIGNS[Result(look.result)], look_words(look) + apart)
    if due.done_on is not None:
        return StopState("done", f"Done on {due.done_on:%-d %B %Y}, apart from this round")
    if due.cancelled_on is not None:
        words = f"Called off on {due.cancelled_on:%-d %B %Y}: {due.cancelled_reason}"
        return StopState("cancelled", words)
    if stop.left_out_because:
        return StopState("later", f"Left out: {stop.left_out_because}")
    if ended := no_longer_words(due.member, on):
        return StopState("held", ended.removesuffix("."), to_do=True)
    sign = "overdue" if due.due_on < on else "due"
    return StopState(sign, f"To look at; due {due.due_on:%-d %B %Y}", to_do=True)


@dataclass(frozen=True)
class ToldStop:
    stop: RoundStop
    state: StopState

    @property
    def member(self) -> Member:
        return self.stop.due.member


def told_stops(stops: Iterable[RoundStop], on: date) -> list[ToldStop]:
    return [ToldStop(stop, stop_state(stop, on)) for stop in stops]


@dataclass(frozen=True)
class Progress:
    """Counts of stops. `of` leaves out what the round leaves out."""

    of: int
    looked: int
    not_reached: int
    gone: int
    left_out: int
    to_do: int

    def words(self) -> str:
        """'12 of 40 looked at; 1 could not be reached'."""
        told = [f"{self.looked} of {self.of} looked at"]
        for number, words in (
            (self.not_reached, "could not be reached"),
            (self.gone, "called off"),
            (self.left_out, "left out"),
        ):
            if number:
                told.append(f"{number} {words}")
        return "; ".join(told)


def progress(stops: Iterable[RoundStop]) -> Progress:
    """Of all the stops of one round, as `with_looks` brings them."""
    looked = not_reached = gone = left_out = to_do = 0
    for stop in stops:
        look = answer_of(stop)
        if look is not None and look.result == Result.NOT_REACHED:
            not_reached += 1
        elif look is not None or stop.due.done_on is not None:
            looked += 1
        elif stop.due.cancelled_on is not None:
            gone += 1
        elif stop.left_out_because:
            left_out += 1
        else:
            to_do += 1
    of = looked + not_reached + gone + to_do
    return Progress(of, looked, not_reached, gone, left_out, to_do)


def next_to_do(stops: Sequence[RoundStop], after: RoundStop | None = None) -> RoundStop | None:
    """The next stop on the way that is still to be looked at; behind the last it begins again
    at the first. None where nothing is left."""
    here = [stop.pk for stop in stops].index(after.pk) + 1 if after is not None else 0
    on_the_way = [*stops[here:], *stops[: max(here - 1, 0)]]
    return next((stop for stop in on_the_way if stop.is_to_do()), None)


def round_lead(round: Round, stops: Sequence[RoundStop]) -> str:
    """The sentence at the head of a round's page."""
    told = progress(stops)
    if round.ended_on is not None:
        ended = f"Ended on {round.ended_on:%-d %B %Y}: {round.ended_because}"
        return f"{ended}. {told.words()}."
    if not stops:
        return "No look stands in this round yet. Add those that are due."
    following = next_to_do(stops)
    if following is None:
        return f"{told.words()}. Nothing is left to look at."
    member = following.due.member
    return f"{told.words()}; next: {member.mark} {where_words(member)}."


def list_lead(rounds: RoundQuerySet, by: User, on: date) -> str:
    """The sentence at the head of the list: how many open rounds there are, and the person's
    next one."""
    found = rounds.order_by().aggregate(
        number=Count("pk"),
        past=Count("pk", filter=Q(walk_on__lt=on)),
    )
    number, past = found["number"], found["past"]
    if not number:
        return "No round is open."
    verb = "is" if number == 1 else "are"
    told = f"{capital(counted(number, 'round', 'rounds'))} {verb} open"
    if past:
        told += (
            f", {counted(past, 'of them', 'of them')} past {'its' if past == 1 else 'their'} day"
        )
    mine = rounds.filter(person=by).order_by("walk_on", "pk").first()
    return f"{told}. Yours: {mine}." if mine is not None else f"{told}."

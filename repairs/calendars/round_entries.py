"""A person's rounds as entries of their own calendar: open ones on their day, and for a year
what was given to somebody else or ended.

Two queries, however many rounds: the rounds, and the places that they lead to."""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from django.db.models import Count, Exists, Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce, Greatest

from properties.models.looked_after import not_ended
from repairs.access import rounds_for
from repairs.calendars.icalendar_file import Entry
from repairs.due.words import counted
from repairs.models import CalendarFeed, Round, RoundStop
from repairs.models.rounds import RoundQuerySet
from repairs.rounds.order import ACCESS_ORDER
from repairs.rounds.stops import Access

if TYPE_CHECKING:
    from django.contrib.auth.models import User

BUILDING = "due__member__building"
# What is told of a place where a round has stops: property, address, building and access.
PLACE = (f"{BUILDING}__property__name", f"{BUILDING}__property__address", f"{BUILDING}__name",
         "due__member__elevation__access")  # fmt: skip
Place = tuple[str, str, str, str | None]


def round_entries(
    feed: CalendarFeed, on: date, kept: timedelta, most: int, link: Callable[[str], str]
) -> list[Entry]:
    """At most so many; `kept` is for how long an entry outlives the end of its round."""
    if not feed.user.has_perm("repairs.view_round"):
        return []
    rounds = list(_with_revisions(_rounds_of(feed.user, on, kept))[:most])
    places = _places(rounds)
    return [_entry(round, places[round.pk], feed, link) for round in rounds]


def _rounds_of(user: User, on: date, kept: timedelta) -> RoundQuerySet:
    """Theirs, and those that once were. None whose every stop is on what was given up."""
    once = Round.history.model.objects.filter(person=user).values("id")
    looked_after = RoundStop.objects.filter(round=OuterRef("pk")).filter(
        not_ended(on, f"{BUILDING}__property__given_up_on")
    )
    theirs = Q(person=user, ended_on__isnull=True)
    gone = Q(ended_on__gt=on - kept) | Q(ended_on__isnull=True, walk_on__gt=on - kept)
    found = rounds_for(user).filter(Exists(looked_after))
    return found.filter(theirs | (Q(pk__in=once) | Q(person=user)) & gone)


def _with_revisions(rounds: RoundQuerySet) -> RoundQuerySet:
    """Adds how often each or a stop of it was changed, and when last, how many looks it holds
    and how many of them were made."""
    own = Round.history.model.objects.filter(id=OuterRef("pk")).order_by().values("id")
    of_stops = RoundStop.history.model.objects.filter(round=OuterRef("pk"))
    of_stops = of_stops.order_by().values("round")
    kept = RoundStop.objects.filter(round=OuterRef("pk"), left_out_because="")
    stops = kept.order_by().values("round")
    last, last_of_stops = _last(own), _last(of_stops)
    return (
        rounds.select_related("person")
        .annotate(
            revisions=_number(own) + _number(of_stops),
            changed_at=Greatest(Coalesce(last, last_of_stops), Coalesce(last_of_stops, last)),
            looks=_number(stops),
            looked=_number(stops.filter(inspection__isnull=False)),
        )
        .order_by("walk_on", "pk")
    )


def _number(rows: QuerySet[Any, Any]) -> Coalesce:
    return Coalesce(Subquery(rows.annotate(number=Count("pk")).values("number")), 0)


def _last(rows: QuerySet[Any, Any]) -> Subquery:
    return Subquery(rows.annotate(last=Max("history_date")).values("last"))


def _places(rounds: Sequence[Round]) -> dict[int, list[Place]]:
    stops = RoundStop.objects.filter(round__in=[round.pk for round in rounds], left_out_because="")
    found: dict[int, list[Place]] = defaultdict(list)
    for pk, *place in stops.order_by(*PLACE).values_list("round", *PLACE).distinct():
        found[pk].append(tuple(place))
    return found


def _entry(
    round: Round, places: Sequence[Place], feed: CalendarFeed, link: Callable[[str], str]
) -> Entry:
    revisions: int = round.revisions  # type: ignore[attr-defined]
    changed_at: datetime | None = round.changed_at  # type: ignore[attr-defined]
    state, cancelled = _state(round, feed.user)
    return Entry(
        uid=str(uuid.uuid5(feed.key, f"round {round.pk}")),
        sequence=max(revisions - 1, 0),
        changed_at=changed_at or feed.made_at,
        first_on=round.walk_on,
        last_on=round.walk_on,
        summary=f"{state}Round: {round.name}, {_looks(round)}",
        description="\n".join(_lines(round, places)),
        place="; ".join(_addresses(places)),
        kind="Round",
        url=link(round.get_absolute_url()),
        cancelled=cancelled,
    )


def _looks(round: Round) -> str:
    number: int = round.looks  # type: ignore[attr-defined]
    return counted(number, "look", "looks") if number < 10 else f"{number:,} looks"


def _state(round: Round, user: User) -> tuple[str, bool]:
    """What goes before its name, and whether it is cancelled for this person."""
    if round.person_id != user.pk:
        return "Given away: ", True
    if round.ended_on is None:
        return "", False
    walked: int = round.looked  # type: ignore[attr-defined]
    return ("Ended: ", False) if walked else ("Called off: ", True)


def _lines(round: Round, places: Sequence[Place]) -> Iterator[str]:
    if round.ended_on is not None:
        yield f"Ended on {round.ended_on:%-d %B %Y}: {round.ended_because}"
    yield f"{_looks(round).capitalize()} on {round.walk_on:%-d %B %Y}"
    person = round.person
    yield f"Who walks it: {(person.get_full_name() or person.username) if person else 'nobody yet'}"
    if buildings := list(dict.fromkeys(building for _, _, building, _ in places)):
        yield f"Buildings: {', '.join(buildings)}"
    needed = {access or Access.UNKNOWN for *_, access in places}
    if known := [Access(each).label.lower() for each in ACCESS_ORDER if each in needed]:
        yield f"Access: {', '.join(known)}"
    if round.notes:
        yield round.notes


def _addresses(places: Sequence[Place]) -> list[str]:
    lines = [[name, *address.splitlines()] for name, address, _, _ in places]
    return list(dict.fromkeys(", ".join(filter(None, map(str.strip, each))) for each in lines))

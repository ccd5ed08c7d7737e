"""Open rounds with what is left to do on them, as the day's page and the mails tell of them."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.db.models import Count, F, IntegerField, Min, OuterRef, Subquery, Value
from django.db.models.functions import Coalesce

from repairs.access import rounds_for
from repairs.due.words import counted
from repairs.models import DueDate, Round, RoundStop
from repairs.models.rounds import RoundQuerySet, RoundStopQuerySet

if TYPE_CHECKING:
    from properties.access import Visitor

PLACE = "due__member__building__property"


def open_rounds(user: Visitor, on: date, *, to_walk: bool = False) -> RoundQuerySet:
    """Open rounds that the person may see, the earliest first; with `to_walk` only those on
    which something is left to look at. Each knows how many looks are
    `left`, and with `place_name` and `places` where they are; what is no longer looked after
    counts no more."""
    stops: RoundStopQuerySet = RoundStop.objects.to_do().filter(
        round=OuterRef("pk"), due__in=DueDate.objects.reminding(on)
    )
    found = stops.order_by().values("round")
    rounds = (
        rounds_for(user)
        .open()
        .select_related("person")
        .annotate(
            left=Coalesce(
                Subquery(found.annotate(number=Count("pk")).values("number")),
                Value(0),
                output_field=IntegerField(),
            ),
            places=Subquery(
                found.annotate(number=Count(PLACE, distinct=True)).values("number"),
                output_field=IntegerField(),
            ),
            place_name=Subquery(found.annotate(first=Min(F(f"{PLACE}__name"))).values("first")),
        )
        .order_by("walk_on", "pk")
    )
    return rounds.filter(left__gt=0) if to_walk else rounds


def looks_left(round: Round) -> str:
    """'12 looks'; needs a round of `open_rounds`."""
    left: int = round.left  # type: ignore[attr-defined]
    return counted(left, "look", "looks")


def where_of(round: Round) -> str:
    """'Mill Row', or 'Mill Row and two more'; empty where nothing is left."""
    places: int | None = round.places  # type: ignore[attr-defined]
    name: str | None = round.place_name  # type: ignore[attr-defined]
    if not places or not name:
        return ""
    return name if places == 1 else f"{name} and {counted(places - 1, 'more', 'more')}"

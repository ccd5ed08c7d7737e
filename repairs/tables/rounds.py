"""The list of rounds."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import django_tables2 as tables
from django.db.models import Case, Count, Q, Value, When

from repairs.due.words import in_days
from repairs.models import Inspection, Round
from repairs.models.rounds import RoundQuerySet
from repairs.tables.inspections import state_html

if TYPE_CHECKING:
    from django.contrib.auth.models import User

OUTSTANDING = Q(
    stops__inspection__isnull=True,
    stops__due__done_on__isnull=True,
    stops__due__cancelled_on__isnull=True,
)
TO_DO = OUTSTANDING & Q(stops__left_out_because="")
LEFT_OUT = OUTSTANDING & ~Q(stops__left_out_because="")
LOOKED = (
    Q(stops__inspection__isnull=False) & ~Q(stops__inspection__result=Inspection.Result.NOT_REACHED)
) | Q(stops__due__done_on__isnull=False)


def with_counts(rounds: RoundQuerySet, by: User) -> RoundQuerySet:
    """Counts its stops: `of` all but those left out, `looked` at, and still `left` to do; those
    of the person are `mine` and come first."""
    counted = rounds.select_related("person").annotate(
        of=Count("stops", filter=~LEFT_OUT),
        looked=Count("stops", filter=LOOKED),
        left=Count("stops", filter=TO_DO),
        mine=Case(When(person=by, then=Value(0)), default=Value(1)),
    )
    return counted.order_by("mine", "walk_on", "pk")


def round_state(round: Round, left: int, on: date) -> tuple[str, str]:
    """Sign and words of a round with so many stops left to do."""
    if round.ended_on is not None:
        return "done", f"Ended {round.ended_on:%-d %b %Y}: {round.ended_because}"
    if not left:
        return "ready", "Nothing left to look at"
    days = (round.walk_on - on).days
    if days < 0:
        return "overdue", f"{in_days(-days)} past its day"
    return ("due", "Today") if days == 0 else ("planned", f"In {in_days(days)}")


class RoundTable(tables.Table):
    name = tables.Column("Round", linkify=lambda record: record.get_absolute_url())
    walk_on = tables.DateColumn(verbose_name="Day", format="j M Y", attrs={"td": {"class": "date"}})
    person = tables.Column(
        "Who", accessor="person", order_by="person__last_name", default="Nobody yet"
    )
    looked = tables.Column("Looked at", orderable=False, attrs={"td": {"class": "num"}})
    state = tables.Column("State", accessor="walk_on", orderable=False)

    class Meta:
        order_by = ()
        empty_text = (
            "No round stands here. A round gathers the looks that are due at one place or by one "
            "access, in walking order, for one person and one day."
        )

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on

    def render_person(self, value: User) -> str:
        return value.get_full_name() or value.get_username()

    def render_looked(self, record: Any) -> str:
        return f"{record.looked} of {record.of}"

    def render_state(self, record: Any) -> str:
        return state_html(*round_state(record, record.left, self.on))

    def value_state(self, record: Any) -> str:
        return round_state(record, record.left, self.on)[1]

    def value_walk_on(self, value: date) -> str:
        return value.isoformat()

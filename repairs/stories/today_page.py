"""What the screen Today shows: own rounds, what is curing, overdue, next, low, urgent, half done.

A section takes one query or two, for its first rows and how many there are in all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, TypeVar

from django.db.models import (
    Case,
    Count,
    F,
    Max,
    Min,
    Model,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
    Window,
)
from django.db.models.functions import RowNumber
from django.utils import timezone

from materials.models import Lot
from properties.access import Visitor, properties_for
from properties.models import Defect
from repairs.due.words import Standing, capital, counted, overdue_words
from repairs.models import Draft, DueDate, KeptRemark, Repair, Round, Stage
from repairs.models.due_dates import DueKind
from repairs.rounds.coming import open_rounds

MOST_ROWS = 10
NEWLY_READY = timedelta(hours=24)
DAYS_AHEAD = 30
LOT_DAYS = 60
MOST_URGENT = "UC3"
Row = TypeVar("Row", bound=Model)


@dataclass(frozen=True)
class Section:
    """The first rows, and how many there are."""

    rows: Sequence[Any] = ()
    total: int = 0

    def __bool__(self) -> bool:
        return bool(self.rows)

    @property
    def more(self) -> bool:
        return self.total > len(self.rows)


@dataclass(frozen=True)
class Today:
    rounds: Section
    curing: Section
    ready: Section
    overdue: Section
    coming: Section
    lots: Section
    defects: Section
    drafts: Section
    remarks: Section
    lead: str

    def is_empty(self) -> bool:
        sections = (
            self.rounds, self.curing, self.ready, self.overdue, self.coming,
            self.lots, self.defects, self.drafts, self.remarks,
        )  # fmt: skip
        return not any(sections)


def today_page(user: Visitor, at: datetime) -> Today:
    on = timezone.localdate(at)
    curing, ready = _cures(user, at)
    overdue, coming = _dates(user, on)
    defects = _first(_defects(user))
    rounds = _first(_rounds(user, on)) if user.has_perm("repairs.view_round") else Section()
    return Today(
        rounds=rounds,
        curing=curing,
        ready=ready,
        overdue=overdue,
        coming=coming,
        lots=_lots(on) if user.has_perm("materials.view_lot") else Section(),
        defects=defects,
        drafts=_first(_drafts(user)),
        remarks=_first(_waiting(user)),
        lead=_lead(_round_words(rounds, on), curing, overdue, coming, defects),
    )


def _first(rows: QuerySet[Any]) -> Section:
    found = list(rows.annotate(total=Window(Count("pk")))[:MOST_ROWS])
    return Section(found, found[0].total if found else 0)


def _two(rows: QuerySet[Any], is_first: Q, order: str, **more: Any) -> tuple[Section, Section]:
    """Rows in two groups, the first of each and how many each holds. They are numbered by their
    keys alone, since a database that numbers whole rows carries all of them through the sort."""
    grouped = rows.annotate(
        in_first=Case(When(is_first, then=Value(1)), default=Value(0)),
    ).annotate(
        total=Window(Count("pk"), partition_by="in_first"),
        rank=Window(RowNumber(), partition_by="in_first", order_by=[order, "pk"]),
        **more,
    )
    first = grouped.filter(rank__lte=MOST_ROWS).order_by(order, "pk")
    facts = {each.pop("pk"): each for each in first.values("pk", "in_first", "total", *more)}
    whole = rows.in_bulk(facts)
    found = [whole[pk] for pk in facts if pk in whole]
    for row in found:
        vars(row).update(facts[row.pk])
    return _section(found, in_first=1), _section(found, in_first=0)


def _section(found: Sequence[Any], in_first: int) -> Section:
    rows = [row for row in found if row.in_first == in_first]
    return Section(rows, rows[0].total if rows else 0)


def _cures(user: Visitor, at: datetime) -> tuple[Section, Section]:
    """Cures still running, and those that became ready in the last day."""
    stages = (
        Stage.objects.within(properties_for(user))
        .filter(ready_at__gt=at - NEWLY_READY)
        .exclude(repair__state=Repair.State.WITHDRAWN)
        .select_related("repair__member__building__property")
    )
    return _two(stages, Q(ready_at__gt=at), "ready_at")


def _dates(user: Visitor, on: date) -> tuple[Section, Section]:
    """What is overdue, and what falls in the next thirty days."""
    dates = (
        DueDate.objects.reminding(on)
        .within(properties_for(user))
        .filter(due_on__lte=on + timedelta(days=DAYS_AHEAD))
        .with_place()
    )
    place, repaint = F("member__building__property"), Q(kind=DueKind.REPAINT)
    return _two(
        dates, Q(due_on__lt=on), "due_on",
        first_place=Window(Min(place), partition_by="in_first"),
        last_place=Window(Max(place), partition_by="in_first"),
        repaints=Window(Count(Case(When(repaint, then="pk"))), partition_by="in_first"),
    )  # fmt: skip


def _rounds(user: Visitor, on: date) -> QuerySet[Round]:
    """The person's own open rounds, past ones and the next alike."""
    return open_rounds(user, on).filter(person__username=user.get_username())


def _lots(on: date) -> Section:
    """Lots to use up within sixty days, to order again, to count, or past their day."""
    lots = Lot.objects.holding_stock().filter(emptied_on__isnull=True).with_remaining()
    past = Q(usable_until__lt=on)
    expiring = Q(usable_until__lte=on + timedelta(days=LOT_DAYS), remaining_amount__gt=0)
    low = Q(low_below__isnull=False, remaining_amount__lt=F("low_below")) & ~past
    wanted = lots.filter(expiring | low | Q(remaining_amount__lt=0)).with_parents()
    # What can still be used up comes before what can only be thrown away.
    is_past = Case(When(past, then=Value(1)), default=Value(0))
    return _first(wanted.order_by(is_past, F("usable_until").asc(nulls_last=True), "pk"))


def _defects(user: Visitor) -> QuerySet[Defect]:
    defects = Defect.objects.outstanding().on_what_stands().within(properties_for(user))
    urgent = Count(Case(When(urgency=MOST_URGENT, then="pk")))
    return defects.with_place().annotate(urgent=Window(urgent)).most_urgent_first()


def _drafts(user: Visitor) -> QuerySet[Draft]:
    mine = Draft.objects.filter(user__username=user.get_username(), kept=True)
    return mine.select_related("member__building__property")


def _waiting(user: Visitor) -> QuerySet[Repair]:
    """Repairs held back until a person has given a word, the longest waiting first."""
    said = KeptRemark.objects.holding().filter(repair=OuterRef("pk")).order_by("said_at", "pk")
    number = said.order_by().values("repair").annotate(number=Count("pk")).values("number")
    repairs = Repair.objects.within(properties_for(user)).standing().with_place()
    return (
        repairs.annotate(
            remark_count=Subquery(number),
            said_at=Subquery(said.values("said_at")[:1]),
            first_found=Subquery(said.values("found")[:1]),
        )
        .filter(remark_count__gt=0)
        .order_by("said_at", "pk")
    )


def _lead(rounds: str, curing: Section, overdue: Section, coming: Section, defects: Section) -> str:
    sentences = [
        rounds,
        overdue_words(_standing(overdue)) or "Nothing is overdue.",
        _urgent_words(defects),
        _curing_words(curing),
        _coming_words(coming),
    ]
    return " ".join(sentence for sentence in sentences if sentence)


def _standing(overdue: Section) -> Standing:
    if not overdue:
        return Standing(0, 0, None, 0, "", 0, None)
    first = overdue.rows[0]
    one_place = first.first_place == first.last_place
    name = first.member.building.property.name
    places = 1 if one_place else len({row.member.building.property_id for row in overdue.rows})
    return Standing(overdue.total, first.repaints, first.due_on, places, name, 0, None)


def _round_words(rounds: Section, on: date) -> str:
    """'Your round Mill Row, tower is for today.' Empty where none is."""
    today = [round for round in rounds.rows if round.is_of_today(on) and round.left]
    if not today:
        return ""
    if len(today) > 1:
        return f"{capital(counted(len(today), 'round', 'rounds'))} of yours are for today."
    return f"Your round {today[0].name} is for today."


def _urgent_words(defects: Section) -> str:
    urgent = defects.rows[0].urgent if defects else 0
    if not urgent:
        return ""
    verb = "defect is" if urgent == 1 else "defects are"
    return f"{capital(counted(urgent, verb, verb))} urgent."


def _curing_words(curing: Section) -> str:
    if not curing:
        return "Nothing is curing."
    verb = "cure runs" if curing.total == 1 else "cures run"
    number = capital(counted(curing.total, verb, verb))
    return f"{number}; the next is ready at {ready_words(curing.rows[0])}."


def _coming_words(coming: Section) -> str:
    if not coming:
        return f"Nothing falls in the next {DAYS_AHEAD} days."
    due = coming.rows[0]
    return f"Next is {due.member.mark}, on {due.due_on:%-d %B}."


def ready_words(stage: Stage) -> str:
    """'14:30 on 5 May', by the clock on site."""
    assert stage.ready_at is not None
    ready = stage.ready_at.astimezone(stage.repair.member.building.property.zone)
    return f"{ready:%H:%M} on {ready:%-d %B}"

"""The members of an installation and their outstanding dates, read some thousands at a time."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from properties.models.members import MemberQuerySet
from repairs.models import DueDate, Inspection, MemberInterval
from repairs.models.due_dates import DueDateQuerySet, DueKind

CHUNK = 2_000
Result = Inspection.Result


class MemberRow(NamedTuple):
    pk: int
    kind: str
    exposure: str
    finish: str
    use_class: str
    installed_year: int | None
    building_id: int
    property_id: int

    @property
    def seen(self) -> tuple[str, str, str, str]:
        """What a rule sees on the row itself."""
        return self.kind, self.exposure, self.finish, self.use_class


class DateRow(NamedTuple):
    """An outstanding date; `before_id` is the answered date that it follows."""

    pk: int
    member_id: int
    repair_id: int | None
    repair_kind: str | None
    temporary: bool | None
    kind: str
    due_on: date
    window_days: int
    step: int
    counted_from: date
    rule_id: int | None
    set_by: str
    before_id: int | None

    @property
    def repair_seen(self) -> tuple[str | None, bool | None]:
        return self.repair_kind, self.temporary


_MEMBER = (
    "pk", "kind", "exposure", "finish", "use_class", "installed_year", "building_id",
    "building__property_id",
)  # fmt: skip
_DATE = (
    "pk", "member_id", "repair_id", "repair__kind", "repair__temporary", "kind", "due_on",
    "window_days", "step", "counted_from", "rule_id", "set_by", "before_id",
)  # fmt: skip


@dataclass(frozen=True)
class Chunk:
    """`numbers` asks for the same members in a statement: thousands of numbers handed to each
    would take longer than all else."""

    members: dict[int, MemberRow]
    numbers: QuerySet[Any]
    dates: Sequence[DateRow]

    def without_look(self) -> Iterator[MemberRow]:
        """Members of which nobody is to look at anything."""
        looked_at = {row.member_id for row in self.dates if row.kind != DueKind.REPAINT}
        return (row for pk, row in self.members.items() if pk not in looked_at)


def chunks(members: MemberQuerySet, on: date, locked: bool) -> Iterator[Chunk]:
    """Members still looked after, by their number, with their outstanding dates. `locked` holds
    both until the transaction ends, so that nobody answers or moves a date meanwhile."""
    looked_after, last = members.looked_after(on), 0
    in_order = looked_after.order_by("pk")
    if locked:
        in_order = in_order.select_for_update(of=("self",))
    while rows := list(in_order.filter(pk__gt=last).values_list(*_MEMBER)[:CHUNK]):
        of = {row.pk: row for row in map(MemberRow._make, rows)}
        numbers = looked_after.order_by().filter(pk__gt=last, pk__lte=max(of)).values("pk")
        last = max(of)
        yield Chunk(of, numbers, [row for row in _dates(numbers, locked) if row.member_id in of])


def _dates(members: QuerySet[Any], locked: bool) -> Iterator[DateRow]:
    dates = DueDate.objects.outstanding().filter(member__in=members).order_by("pk")
    if locked:
        dates = dates.select_for_update(of=("self",))
    wanted = dates.annotate(before_id=Subquery(_answered_before().values("pk")[:1]))
    return map(DateRow._make, wanted.values_list(*_DATE))


def _answered_before() -> DueDateQuerySet:
    """The dates of the same series that were answered, the last first: a series goes on either
    from the day that it began with or from the day on which the look before was done."""
    answered = DueDate.objects.filter(
        Q(counted_from=OuterRef("counted_from")) | Q(done_on=OuterRef("counted_from")),
        member=OuterRef("member"),
        kind=OuterRef("kind"),
        done_on__isnull=False,
        rule__isnull=False,
    )
    same_repair = answered.alias(of=Coalesce("repair_id", 0)).filter(
        of=Coalesce(OuterRef("repair_id"), 0)
    )
    return same_repair.order_by("-done_on", "-pk")


def own_intervals(members: QuerySet[Any]) -> dict[tuple[int, str], MemberInterval]:
    """A person's own intervals, by member and kind."""
    own = MemberInterval.objects.filter(member__in=members).order_by()
    return {(each.member_id, each.kind): each for each in own}


def last_looks(members: Collection[int]) -> dict[int, date]:
    looks = Inspection.objects.filter(member__in=members).exclude(result=Result.NOT_REACHED)
    return dict(looks.order_by("looked_on").values_list("member_id", "looked_on"))


def called_off(members: Collection[int]) -> set[int]:
    """Those of which a person called the look off."""
    dates = DueDate.objects.filter(
        member__in=members, kind=DueKind.MEMBER_LOOK, cancelled_on__isnull=False
    )
    return set(dates.order_by().values_list("member_id", flat=True))

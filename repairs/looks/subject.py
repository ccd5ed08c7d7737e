"""What one look is about: a member, or one repair of it, and the due dates it may answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q

from properties.models import Member
from repairs.models import DueDate, Inspection, Repair
from repairs.models.due_dates import DueDateQuerySet


@dataclass(frozen=True)
class LookSubject:
    """`asked` is the due date whose page the person came from, done or not."""

    member: Member
    repair: Repair | None = None
    asked: DueDate | None = None

    def answerable(self) -> DueDateQuerySet:
        """Dates still planned, and the one asked for even if somebody has just answered it: the
        save then tells whose look it was."""
        dates = DueDate.objects.looks().filter(
            member=self.member, repair=self.repair, cancelled_on__isnull=True
        )
        asked = self.asked.pk if self.asked else None
        return dates.filter(Q(done_on__isnull=True) | Q(pk=asked)).select_related(
            "member__building__property", "repair"
        )

    def offered(self, on: date) -> DueDate | None:
        """The date that the page offers as answered: the one asked for, else the first that has
        come within its window."""
        if self.asked is not None:
            return self.asked if self.asked.is_outstanding() else None
        first = self.answerable().outstanding().first()
        if first and first.due_on <= on + timedelta(days=first.window_days):
            return first
        return None

    def last_look(self) -> Inspection | None:
        looks = Inspection.objects.filter(member=self.member)
        if self.repair is not None:
            looks = looks.filter(repair=self.repair)
        looks = looks.exclude(result=Inspection.Result.NOT_REACHED)
        return looks.order_by("-looked_on", "-pk").first()

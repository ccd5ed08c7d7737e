"""What the records already say that the log page needs; each thing is read once, at first need."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any

from django.db.models import Subquery, prefetch_related_objects
from django.utils import timezone

from config.quantities import UnitSystem
from properties.access import properties_for
from properties.models import Defect, Member, Person
from repairs.due.pace import Pace, repair_paces
from repairs.models import Batch, CostLine, Labour, Plan, Repair

from .log_lots import Stock

if TYPE_CHECKING:
    from datetime import date, tzinfo

    from django.contrib.auth.models import User

# A page filled in a week late must still find what was mixed on that day.
EARLIER_BATCHES_FROM = timedelta(days=14)
MOST_EARLIER_BATCHES = 40
# Of earlier repairs only the latest can be named; older ones stand in the member's history.
EARLIER_SHOWN = 12
LONGEST_NUMBER = 18


class Known:
    def __init__(
        self,
        user: User,
        at: datetime,
        member_number: str = "",
        goes_on: str = "",
        plan_number: str = "",
    ) -> None:
        self.user, self.at = user, at
        self.member = self._member(member_number)
        self.continues = self._in_work(goes_on)
        self.plan = self._planned(plan_number)

    def _member(self, number: str) -> Member | None:
        """The member, if the person may see it; with it come the person's own units."""
        if not number.isdecimal() or len(number) > LONGEST_NUMBER:
            return None
        members = Member.objects.within(properties_for(self.user)).with_place()
        units = Subquery(self._own_units()[:1])
        return members.annotate(reader_units=units).filter(pk=number).first()

    def _in_work(self, number: str) -> Repair | None:
        """The repair in work of that member to which stages are added."""
        if self.member is None or not number.isdecimal() or len(number) > LONGEST_NUMBER:
            return None
        repairs = self.member.repairs.filter(state=Repair.State.IN_WORK, pk=number)
        return repairs.with_place().prefetch_related("stages").first()

    def _planned(self, number: str) -> Plan | None:
        """The plan for that member that is now carried out."""
        if self.member is None or self.continues is not None:
            return None
        if not number.isdecimal() or len(number) > LONGEST_NUMBER:
            return None
        plans = Plan.objects.still_planned().filter(defect__member=self.member, pk=number)
        return plans.select_related("defect").first()

    def _own_units(self) -> Any:
        persons = Person.objects.filter(user_id=self.user.pk).order_by()
        return persons.values_list("unit_system", flat=True)

    @cached_property
    def system(self) -> str:
        """The person's own units, else those of the property."""
        if self.member is None:
            return self._own_units().first() or UnitSystem.METRIC
        own = getattr(self.member, "reader_units", "")
        return own or self.member.building.property.unit_system

    @property
    def zone(self) -> tzinfo:
        if self.member is None:
            return timezone.get_default_timezone()
        return self.member.building.property.zone

    @property
    def currency(self) -> str:
        return self.member.building.property.currency if self.member else "GBP"

    @property
    def today(self) -> date:
        return self.at.astimezone(self.zone).date()

    @cached_property
    def stock(self) -> Stock:
        return Stock(self.today)

    @cached_property
    def mixed_lately(self) -> dict[str, Batch]:
        """Batches of the last days of which some is left over for another member."""
        batches = Batch.objects.left_over_since(self.at - EARLIER_BATCHES_FROM)
        placed = batches.select_related("sheet__product", "mixed_for__repair__member")
        found = placed.order_by("-mixed_at").prefetch_related("parts__lot")
        return {str(batch.pk): batch for batch in found[:MOST_EARLIER_BATCHES]}

    def read_for_booking(self) -> None:
        """What is wanted only when batches are judged and booked, not to show the page."""
        self.stock.read_for_booking()
        earlier = list(self.mixed_lately.values())
        prefetch_related_objects(earlier, "parts__lot__parent", "parts__lot__product")

    @cached_property
    def defects(self) -> list[Defect]:
        if self.member is None:
            return []
        return list(self.member.defects.outstanding().most_urgent_first())

    @cached_property
    def earlier(self) -> list[Repair]:
        if self.member is None:
            return []
        repairs = self.member.repairs.standing().order_by("-began_at", "-pk")
        return list(repairs[:EARLIER_SHOWN])

    @property
    def in_work(self) -> list[Repair]:
        """What was begun on the member and may be meant, rather than a new repair."""
        return [repair for repair in self.earlier if repair.state == Repair.State.IN_WORK]

    @cached_property
    def last_rate_minor(self) -> int | None:
        """What an hour was booked at the last time that the person logged one."""
        hours = Labour.objects.filter(
            repair__entered_by=self.user, currency=self.currency, rate_minor__isnull=False
        )
        return hours.order_by("-pk").values_list("rate_minor", flat=True).first()

    def next_looks(self, worked_on: date) -> tuple[str, str]:
        """The day that the rules set if nobody types one: of a lasting repair, of a temporary."""
        if self.member is None:
            return "", ""
        lasting, temporary = repair_paces(self.member)
        return self._look(lasting, worked_on), self._look(temporary, worked_on)

    def _look(self, pace: Pace, worked_on: date) -> str:
        first = pace.first_date(worked_on, self.today)
        return f"{first.due_on:%-d %B %Y}, by the rule “{pace.words()}”" if first else ""

    @cached_property
    def foreign(self) -> set[str]:
        """Currencies of what is in stores that the property does not add up in."""
        money = {currency for offer in self.stock.offers.values() for currency in offer.currencies}
        return money - {self.currency} if self.member else set()

    def last_rate(self, currency: str) -> CostLine | None:
        """The line of the property that last used a rate of a currency."""
        if self.member is None:
            return None
        lines = CostLine.objects.filter(
            building__property=self.member.building.property, currency=currency
        )
        return lines.order_by("-worked_on", "-pk").only("rate", "worked_on").first()

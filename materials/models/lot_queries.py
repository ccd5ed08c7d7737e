"""The questions that are asked of all lots at once."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import models
from django.db.models import DecimalField, F, Min, OuterRef, Q, Subquery, Sum, Value
from django.db.models.functions import Coalesce, Replace, Round

from .movements import Movement

if TYPE_CHECKING:
    from .lots import Lot

AMOUNT: DecimalField = DecimalField(max_digits=12, decimal_places=3)
NOTHING = Value(Decimal(0), output_field=AMOUNT)
# SQLite adds decimals as floats; to the thousandth that they are kept in, the sum is exact.
LEDGER_SUM = Round(Sum("amount"), precision=3, output_field=AMOUNT)
SMALLEST = Decimal("0.001")


def exact(total: Decimal | None) -> Decimal:
    """The same for a sum that has come into Python."""
    return (total or Decimal(0)).quantize(SMALLEST)


# What is read one for the other on a tin, and what is left out when a number is said.
READ_ALIKE = (("O", "0"), ("o", "0"), ("I", "1"), ("i", "1"), (" ", ""))


class LotQuerySet(models.QuerySet["Lot"]):
    def with_remaining(self) -> LotQuerySet:
        """Adds `remaining_amount` and `received_amount`, sums over the ledger in one query."""
        lines = Movement.objects.filter(lot=OuterRef("pk")).order_by().values("lot")
        return self.annotate(
            remaining_amount=Coalesce(
                Subquery(lines.annotate(total=LEDGER_SUM).values("total")), NOTHING
            ),
            received_amount=Coalesce(
                Subquery(
                    lines.filter(kind=Movement.Kind.RECEIVED)
                    .annotate(total=LEDGER_SUM)
                    .values("total")
                ),
                NOTHING,
            ),
        )

    def holding_stock(self) -> LotQuerySet:
        """Lots with a ledger of their own: all but kit parents."""
        return self.exclude(part="kit")

    def standing_alone(self) -> LotQuerySet:
        """What a list counts as one thing: kits, and lots that belong to no kit."""
        return self.filter(parent__isnull=True)

    def kept(self) -> LotQuerySet:
        """Lots that nobody has said are used up or thrown away."""
        return self.filter(emptied_on__isnull=True)

    def released(self) -> LotQuerySet:
        return self.filter(held_back=False, emptied_on__isnull=True)

    def unexpired(self, on: date) -> LotQuerySet:
        return self.filter(Q(usable_until__isnull=True) | Q(usable_until__gte=on))

    def usable(self, on: date) -> LotQuerySet:
        """Released and unexpired on a day, soonest expiry first; the twin of `Lot.is_usable`."""
        return self.released().unexpired(on).soonest_expiry_first()

    def soonest_expiry_first(self) -> LotQuerySet:
        return self.order_by(F("usable_until").asc(nulls_last=True), "received_on", "pk")

    def expiring(self, on: date, until: date) -> LotQuerySet:
        return self.filter(
            emptied_on__isnull=True, usable_until__isnull=False, usable_until__lte=until
        ).soonest_expiry_first()

    def expired(self, on: date) -> LotQuerySet:
        return self.kept().filter(usable_until__lt=on)

    def held(self) -> LotQuerySet:
        return self.kept().filter(held_back=True)

    def with_something_left(self) -> LotQuerySet:
        """Lots of which the ledger says that something remains, with `remaining_amount`."""
        lots: LotQuerySet = self.with_remaining()
        return lots.filter(Q(remaining_amount__gt=0))

    def needing_count(self) -> LotQuerySet:
        """More was recorded as used than came in; the twin of `Lot.count_needed`."""
        lots: LotQuerySet = self.holding_stock().kept().with_remaining()
        return lots.filter(Q(remaining_amount__lt=0))

    def running_low(self) -> LotQuerySet:
        """The twin of `Lot.runs_low`, of what is still kept."""
        lots: LotQuerySet = self.holding_stock().kept().with_remaining()
        return lots.filter(Q(remaining_amount__lt=F("low_below")))

    def barred(self, on: date) -> LotQuerySet:
        """Kept, but not to be used on a day: held back or expired."""
        return self.kept().filter(Q(held_back=True) | Q(usable_until__lt=on))

    def which_are_or_hold(self, lots: models.QuerySet[Lot]) -> LotQuerySet:
        """Lots among those given, and kits with an A lot or B lot among them."""
        chosen = lots.order_by()
        return self.filter(
            Q(pk__in=chosen.values("pk"))
            | Q(pk__in=chosen.filter(parent__isnull=False).values("parent"))
        )

    def numbered_like(self, text: str) -> LotQuerySet:
        """Lots whose number holds the text, however it was read: l 0O7 finds L007."""
        number, sought = F("number"), text
        for written, read in READ_ALIKE:
            number = Replace(number, Value(written), Value(read))  # type: ignore[assignment]
            sought = sought.replace(written, read)
        return self.annotate(number_as_read=number).filter(number_as_read__icontains=sought)

    def with_soonest_day(self) -> LotQuerySet:
        """Adds `soonest_day`: of a kit, the last usable day of the part that ends first."""
        parts = self.model.objects.filter(parent=OuterRef("pk")).order_by()
        first = parts.values("parent").annotate(day=Min("usable_until")).values("day")
        return self.annotate(soonest_day=Coalesce(Subquery(first), F("usable_until")))

    def in_order_of_last_day(self, *, descending: bool = False) -> LotQuerySet:
        """By `soonest_day`, lots without one last; wants `with_soonest_day`."""
        day = F("soonest_day")
        order = day.desc(nulls_last=True) if descending else day.asc(nulls_last=True)
        return self.order_by(order, "received_on", "pk")

    def for_list(self) -> LotQuerySet:
        """Kits and single lots with all that a list says of them, in a fixed number of queries."""
        parts = self.model.objects.with_remaining().order_by("part")
        return (
            self.standing_alone()
            .with_remaining()
            .with_soonest_day()
            .select_related("product")
            .prefetch_related(models.Prefetch("part_lots", queryset=parts))
        )

    def for_page(self) -> LotQuerySet:
        """One lot with what is left of it and the sheets of its product."""
        return self.with_remaining().with_parents().prefetch_related("product__sheets")

    def with_parents(self) -> LotQuerySet:
        return self.select_related("product", "kit", "parent", "parent__kit")

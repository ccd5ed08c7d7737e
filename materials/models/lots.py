"""Lots: what was received under one lot number."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.db.models import F, Q, Sum
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import not_negative
from materials.money import share_of_price
from materials.shelf_life import LastUsableDay, last_usable_day

from .kits import Kit
from .lot_queries import LotQuerySet, exact
from .movements import Movement
from .products import Product

if TYPE_CHECKING:
    from django.contrib.auth.models import User


class Lot(models.Model):
    """What was received under one lot number: part A, part B, a one-part product, or a kit as
    parent of its A lot and B lot. The ledger stands on the parts; a kit has none of its own."""

    class Part(models.TextChoices):
        A = "a", "Part A (resin)"
        B = "b", "Part B (hardener)"
        ONE = "one", "One-part product"
        KIT = "kit", "Kit (A and B)"

    class Unit(models.TextChoices):
        GRAM = "g", "grams"
        MILLILITRE = "ml", "millilitres"

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="lots")
    part = models.CharField(max_length=3, choices=Part)
    number = models.CharField("lot number", max_length=80, help_text="As printed.")
    parent = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="part_lots"
    )
    kit = models.ForeignKey(
        Kit,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="lots",
        help_text="Which pack was received.",
    )
    kits_received = models.DecimalField(
        max_digits=8,
        decimal_places=3,
        null=True,
        blank=True,
        help_text="How many packs came under this lot number.",
    )
    unit = models.CharField(max_length=2, choices=Unit, default=Unit.GRAM)
    received_on = models.DateField()
    made_on = models.DateField(null=True, blank=True)
    expires_on = models.DateField(null=True, blank=True, help_text="As printed; that day included.")
    opened_on = models.DateField(null=True, blank=True)
    usable_until = models.DateField(
        null=True,
        blank=True,
        editable=False,
        help_text="Last usable day, from expiry, shelf life and opening.",
    )
    price_minor = models.BigIntegerField(
        null=True,
        blank=True,
        help_text="Paid for all that came under this number, in the currency's smallest unit.",
    )
    currency = models.CharField(max_length=3, default="GBP")
    supplier = models.CharField(max_length=200, blank=True)
    invoice = models.CharField(max_length=80, blank=True)
    kept_at = models.CharField("where kept", max_length=120, blank=True)
    low_below = models.DecimalField(
        max_digits=12,
        decimal_places=3,
        null=True,
        blank=True,
        help_text="Say 'runs low' when less than this remains.",
    )
    held_back = models.BooleanField(default=False)
    held_back_reason = models.CharField(max_length=300, blank=True)
    emptied_on = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True, max_length=5000)
    history = HistoricalRecords()

    objects = LotQuerySet.as_manager()

    class Meta:
        ordering = ["product", "number", "part"]
        indexes = [
            models.Index(fields=["usable_until"], name="lot_usable_until"),
            models.Index(fields=["number"], name="lot_number"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["product", "part", "number", "received_on"],
                name="lot_number_once",
                violation_error_message=(
                    "This lot number was already received on that day; "
                    "add to it with a movement instead."
                ),
            ),
            models.CheckConstraint(
                condition=Q(opened_on__isnull=True) | Q(opened_on__gte=F("received_on")),
                name="lot_opened_after_received",
                violation_error_message="It cannot be opened before it was received.",
            ),
            models.CheckConstraint(
                condition=Q(made_on__isnull=True) | Q(made_on__lte=F("received_on")),
                name="lot_made_before_received",
                violation_error_message="It cannot be received before it was made.",
            ),
            not_negative("price_minor", "lot_price_not_negative", "A price cannot be negative."),
            models.CheckConstraint(
                condition=Q(
                    part="kit",
                    parent__isnull=True,
                    kits_received__isnull=False,
                    kits_received__gt=0,
                )
                | (~Q(part="kit") & Q(kits_received__isnull=True)),
                name="lot_kit_has_no_parent",
                violation_error_message="Only a kit counts packs, and a kit stands in no other.",
            ),
            models.CheckConstraint(
                condition=Q(parent__isnull=True) | Q(part__in=["a", "b"]),
                name="lot_only_parts_in_kit",
                violation_error_message="Only an A lot or a B lot can belong to a kit.",
            ),
            models.UniqueConstraint(
                fields=["parent", "part"],
                name="lot_one_a_one_b_per_kit",
                condition=Q(parent__isnull=False),
            ),
            models.CheckConstraint(
                condition=Q(held_back=False) | ~Q(held_back_reason=""),
                name="lot_held_back_with_reason",
                violation_error_message="Say why it is held back.",
            ),
            models.CheckConstraint(
                condition=Q(currency__regex=r"^[A-Z]{3}$"), name="lot_currency_code"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.product} · {self.get_part_display()} · lot {self.number}"

    def save(self, *args: object, **kwargs: object) -> None:
        self.usable_until = self.shelf().day
        fields = kwargs.get("update_fields")
        if fields is not None:
            kwargs["update_fields"] = {*fields, "usable_until"}  # type: ignore[misc]
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    def get_absolute_url(self) -> str:
        return reverse("lot-detail", args=[self.pk])

    def clean(self) -> None:
        if self.parent_id and self.parent and self.parent.product_id != self.product_id:
            raise ValidationError({"parent": "The kit is of another product."})

    def shelf(self) -> LastUsableDay:
        """The last usable day and the rule that sets it, by the sheet in force when received."""
        sheet = self.product.sheet_on(self.received_on)
        return last_usable_day(
            printed_expiry=self.expires_on,
            made_on=self.made_on,
            received_on=self.received_on,
            opened_on=self.opened_on,
            unopened_months=sheet.shelf_life_unopened_months if sheet else None,
            opened_months=sheet.shelf_life_opened_months if sheet else None,
        )

    def is_usable(self, on: date) -> bool:
        """The one-row twin of `LotQuerySet.usable`."""
        in_date = self.usable_until is None or self.usable_until >= on
        return not self.held_back and self.emptied_on is None and in_date

    def remaining(self) -> Decimal:
        """What the ledger says is left, in the lot's unit; negative means that it was overdrawn."""
        annotated = getattr(self, "remaining_amount", None)
        if annotated is not None:
            return exact(annotated)
        return exact(self.movements.aggregate(total=Sum("amount"))["total"])

    def count_needed(self) -> bool:
        """More was recorded as used than came in: somebody should count what is left."""
        return self.remaining() < 0

    def runs_low(self) -> bool:
        return self.low_below is not None and self.remaining() < self.low_below

    def received(self) -> Decimal:
        annotated = getattr(self, "received_amount", None)
        if annotated is not None:
            return exact(annotated)
        lines = self.movements.filter(kind=Movement.Kind.RECEIVED)
        return exact(lines.aggregate(total=Sum("amount"))["total"])

    def cost_of(self, amount: Decimal) -> int | None:
        """What an amount of this lot cost in minor units, by its share of what was paid; None
        when no price is recorded. The parts of a kit share its price by their amounts."""
        if self.parent is not None and self.price_minor is None:
            if self.parent.price_minor is None:
                return None
            whole = sum((lot.received() for lot in self.parent.part_lots.all()), Decimal(0))
            return share_of_price(self.parent.price_minor, amount, whole) if whole else None
        whole = self.received()
        if self.price_minor is None or not whole:
            return None
        return share_of_price(self.price_minor, amount, whole)

    def cost_of_kits(self, kits: Decimal) -> int | None:
        """What a number of kits cost in minor units; None when no price is recorded."""
        if self.price_minor is None or not self.kits_received:
            return None
        return share_of_price(self.price_minor, kits, self.kits_received)

    @transaction.atomic
    def move(
        self,
        kind: str,
        amount: Decimal,
        at: datetime,
        by: User | None,
        note: str = "",
        place: str = "",
    ) -> Movement:
        """Write one ledger line; `amount` is signed as the ledger signs it."""
        movement = Movement(
            lot=self, kind=kind, amount=amount, at=at, entered_by=by, note=note, place=place
        )
        movement.full_clean()
        movement.save(force_insert=True)
        return movement

"""The ledger of a lot: what came, what was used and wasted, what was counted."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from materials.append_only import AppendOnly, AppendOnlyQuerySet


class Movement(AppendOnly):
    """One line of a lot's ledger. What remains of a lot is the sum of its lines."""

    CORRECTION = "A movement is corrected by a further line"

    class Kind(models.TextChoices):
        RECEIVED = "received", "Received"
        USED = "used", "Used"
        WASTED = "wasted", "Wasted"
        MOVED = "moved", "Moved"
        DISCARDED = "discarded", "Discarded"
        COUNTED = "counted", "Counted"

    lot = models.ForeignKey("materials.Lot", on_delete=models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=10, choices=Kind)
    amount = models.DecimalField(
        max_digits=12,
        decimal_places=3,
        help_text="In the lot's unit; what leaves the stores is negative.",
    )
    at = models.DateTimeField(help_text="When it happened.")
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    place = models.CharField(max_length=120, blank=True, help_text="Where it was moved to.")
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )
    note = models.CharField(max_length=300, blank=True)

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["lot", "at"], name="movement_lot_at")]
        constraints = [
            # A reversing line has the opposite sign of the line that it puts right.
            models.CheckConstraint(
                condition=Q(reverses__isnull=False)
                | Q(kind="received", amount__gt=0)
                | Q(kind__in=["used", "wasted", "discarded"], amount__lt=0)
                | Q(kind="moved", amount=0)
                | Q(kind="counted"),
                name="movement_sign_fits_kind",
                violation_error_message="The sign of the amount does not fit this movement.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.amount} of {self.lot_id}"

"""Remarks kept with a record, the reasons given for them, and sign-off."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from .batches import Batch
from .repairs import Repair, Stage


class KeptRemarkQuerySet(models.QuerySet["KeptRemark"]):
    def holding(self) -> KeptRemarkQuerySet:
        """Remarks that still hold back the next step, for want of a person's word."""
        return self.filter(holds=True, released_on__isnull=True)


class KeptRemark(models.Model):
    """What a check said about an entry on the day it was saved, with the reason typed in.
    Kept as said, so that a later change of limits never changes an old record."""

    class Level(models.TextChoices):
        WARNING = "warning", "Warning"
        NOTE = "note", "Note"

    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="remarks")
    stage = models.ForeignKey(
        Stage, null=True, blank=True, on_delete=models.PROTECT, related_name="remarks"
    )
    batch = models.ForeignKey(
        Batch, null=True, blank=True, on_delete=models.PROTECT, related_name="remarks"
    )
    code = models.SlugField()
    level = models.CharField(max_length=7, choices=Level)
    found = models.CharField(max_length=300)
    limit = models.CharField(max_length=300, blank=True)
    source = models.CharField(max_length=300)
    advice = models.CharField(max_length=500)
    holds = models.BooleanField(default=False, help_text="'Ready to paint' waits for a person.")
    reason = models.CharField(max_length=500, blank=True)
    said_at = models.DateTimeField(auto_now_add=True)
    released_on = models.DateField(null=True, blank=True)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    released_word = models.CharField(max_length=500, blank=True)
    history = HistoricalRecords()

    objects = KeptRemarkQuerySet.as_manager()

    class Meta:
        ordering = ["repair", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(level="warning") | ~Q(reason=""),
                name="remark_warning_has_reason",
                violation_error_message="A warning needs a reason.",
            ),
            models.CheckConstraint(
                condition=Q(released_on__isnull=True)
                | (Q(released_by__isnull=False) & ~Q(released_word="")),
                name="remark_released_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return self.found


class SignOff(models.Model):
    """A person's acceptance of a repair, or of one stage of it, on a date."""

    class Verdict(models.TextChoices):
        ACCEPTED = "accepted", "Accepted"
        WITH_SNAGS = "with_snags", "Accepted, with something to put right"
        REJECTED = "rejected", "Rejected"

    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="sign_offs")
    stage = models.ForeignKey(
        Stage, null=True, blank=True, on_delete=models.PROTECT, related_name="sign_offs"
    )
    verdict = models.CharField(max_length=10, choices=Verdict)
    signed_on = models.DateField()
    name = models.CharField(max_length=200)
    role = models.CharField(max_length=200, blank=True, help_text="Such as surveyor or owner.")
    note = models.CharField(max_length=500, blank=True)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["repair", "signed_on", "pk"]

    def __str__(self) -> str:
        return f"{self.get_verdict_display()} by {self.name}, {self.signed_on:%-d %B %Y}"

"""Photographs, with captions, on a repair, an inspection or a defect."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from properties.models import Defect, Member

from .inspections import Inspection
from .repairs import Repair, Stage


def photograph_path(instance: object, filename: str) -> str:
    """A name made here: what people call their files is kept as text, never as a path."""
    name = uuid.uuid4().hex
    return f"photographs/{name[:2]}/{name}.jpg"


class Photograph(models.Model):
    class Moment(models.TextChoices):
        BEFORE = "before", "Before"
        DURING = "during", "During"
        AFTER = "after", "After"
        INSPECTION = "inspection", "Inspection"

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="photographs")
    repair = models.ForeignKey(
        Repair, null=True, blank=True, on_delete=models.PROTECT, related_name="photographs"
    )
    stage = models.ForeignKey(
        Stage, null=True, blank=True, on_delete=models.PROTECT, related_name="photographs"
    )
    inspection = models.ForeignKey(
        Inspection, null=True, blank=True, on_delete=models.PROTECT, related_name="photographs"
    )
    defect = models.ForeignKey(
        Defect, null=True, blank=True, on_delete=models.PROTECT, related_name="photographs"
    )
    file = models.ImageField(
        upload_to=photograph_path, width_field="width", height_field="height", max_length=120
    )
    width = models.PositiveIntegerField(editable=False, default=0)
    height = models.PositiveIntegerField(editable=False, default=0)
    sha256 = models.CharField(max_length=64, blank=True, editable=False)
    original_name = models.CharField(max_length=200, blank=True)
    moment = models.CharField(max_length=10, choices=Moment, default=Moment.AFTER)
    caption = models.CharField(max_length=300, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords(excluded_fields=["file", "width", "height"])

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(repair__isnull=False)
                | Q(inspection__isnull=False)
                | Q(defect__isnull=False),
                name="photograph_shows_something",
            ),
        ]

    def __str__(self) -> str:
        return self.caption or f"{self.get_moment_display()} photograph of {self.member}"

    def get_absolute_url(self) -> str:
        return reverse("photograph-file", args=[self.pk])

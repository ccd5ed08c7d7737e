"""Rounds: inspections that one person does in one visit."""

from __future__ import annotations

import uuid
from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from properties.models import Property

from .due_dates import DueDate
from .inspections import Inspection


class RoundQuerySet(models.QuerySet["Round"]):
    def within(self, properties: models.QuerySet[Property]) -> RoundQuerySet:
        """Rounds all of whose stops stand on those properties."""
        elsewhere = RoundStop.objects.filter(round=models.OuterRef("pk")).exclude(
            due__member__building__property__in=properties
        )
        return self.exclude(models.Exists(elsewhere))

    def open(self) -> RoundQuerySet:
        """Neither finished nor called off; the twin of `Round.is_open`."""
        return self.filter(ended_on__isnull=True)


class Round(models.Model):
    """One visit of one person. What is done at its stops is told by their inspections, so that
    a round left half-way keeps what was done; `ended_on` closes it to further looks."""

    name = models.CharField(max_length=200)
    walk_on = models.DateField("day")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    ended_on = models.DateField(null=True, blank=True)
    ended_because = models.CharField(max_length=300, blank=True)
    notes = models.TextField(blank=True, max_length=5000)
    submission = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    objects = RoundQuerySet.as_manager()

    class Meta:
        ordering = ["-walk_on", "-pk"]
        indexes = [
            models.Index(
                fields=["person", "walk_on"], name="round_open", condition=Q(ended_on__isnull=True)
            ),
        ]
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="round_has_a_name"),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | ~Q(ended_because=""),
                name="round_ended_with_reason",
                violation_error_message="Say why it ends, such as 'all done'.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.walk_on:%-d %B %Y}"

    def get_absolute_url(self) -> str:
        return reverse("round-detail", args=[self.pk])

    def is_open(self) -> bool:
        return self.ended_on is None

    def is_of_today(self, on: date) -> bool:
        return self.is_open() and self.walk_on == on


class RoundStopQuerySet(models.QuerySet["RoundStop"]):
    def to_do(self) -> RoundStopQuerySet:
        """Not left out, and still to be looked at; the twin of `RoundStop.is_to_do`."""
        return self.filter(
            left_out_because="",
            inspection__isnull=True,
            due__done_on__isnull=True,
            due__cancelled_on__isnull=True,
        )

    def with_place(self) -> RoundStopQuerySet:
        return self.select_related(
            "due__member__building__property", "due__member__elevation", "due__repair", "inspection"
        )


class RoundStop(models.Model):
    """One due date that a round sets out to answer. `inspection` is the look made here, also one
    that could not reach the member; a date that somebody answered apart from the round has none."""

    round = models.ForeignKey(Round, on_delete=models.CASCADE, related_name="stops")
    due = models.ForeignKey(DueDate, on_delete=models.PROTECT, related_name="stops")
    position = models.PositiveSmallIntegerField()
    inspection = models.OneToOneField(
        Inspection, null=True, blank=True, on_delete=models.PROTECT, related_name="stop"
    )
    left_out_because = models.CharField(max_length=300, blank=True)
    history = HistoricalRecords()

    objects = RoundStopQuerySet.as_manager()

    class Meta:
        ordering = ["round", "position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["round", "due"],
                name="round_stop_once",
                violation_error_message="This look stands in the round already.",
            ),
            models.CheckConstraint(
                condition=Q(left_out_because="") | Q(inspection__isnull=True),
                name="round_stop_left_out_or_looked_at",
                violation_error_message="What was looked at is not left out.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.position}: {self.due}"

    def is_to_do(self) -> bool:
        return (
            not self.left_out_because and self.inspection_id is None and self.due.is_outstanding()
        )

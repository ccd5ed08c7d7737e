"""Inspections: one look at a member, a coating or a repaired area."""

from __future__ import annotations

import uuid
from datetime import date

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import within
from properties.classes import (
    CONDITION_CHOICES,
    DEFECT_SIZE_WORDS,
    FLAKING_DEPTH_WORDS,
    URGENCY_CHOICES,
)
from properties.models import Defect, Member, MoistureReading, Property
from properties.models.members import Zone
from properties.models.owners import on_one_of

from .due_dates import DueDate
from .repairs import Repair


def _rating(name: str, help_text: str) -> models.DecimalField:
    return models.DecimalField(
        name,
        max_digits=2,
        decimal_places=1,
        null=True,
        blank=True,
        help_text=help_text,
        validators=[MinValueValidator(0), MaxValueValidator(5)],
    )


def _size(name: str, help_text: str) -> models.CharField:
    sizes = [(size, size) for size in DEFECT_SIZE_WORDS]
    return models.CharField(name, max_length=2, blank=True, choices=sizes, help_text=help_text)


def _only_where_found(told: str, quantity: str, sentence: str) -> models.CheckConstraint:
    """What is told of a defect is told only where its quantity is recorded, and not nought."""
    found = Q(**{f"{quantity}__isnull": False, f"{quantity}__gt": 0})
    return models.CheckConstraint(
        condition=Q(**{told: ""}) | found,
        name=f"inspection_{told}_of_something",
        violation_error_message=sentence,
    )


class InspectionQuerySet(models.QuerySet["Inspection"]):
    def within(self, properties: models.QuerySet[Property]) -> InspectionQuerySet:
        return self.filter(on_one_of(properties, "member__building__property"))

    def with_place(self) -> InspectionQuerySet:
        return self.select_related(
            "member__building__property", "member__elevation", "repair", "due", "looked_by"
        )

    def between(self, first: date, last: date) -> InspectionQuerySet:
        return self.filter(looked_on__gte=first, looked_on__lte=last)


class Inspection(models.Model):
    """One look, with its ratings. A rating left empty was not recorded; the names of ratings
    that had no meaning on the member stand in `not_applicable`."""

    class Occasion(models.TextChoices):
        ROUTINE = "routine", "Routine"
        AFTER_REPAIR = "after_repair", "After a repair"
        AFTER_STORM = "after_storm", "After a storm"
        SALE = "sale", "For a sale or an insurer"
        OTHER = "other", "Other"

    class Edge(models.TextChoices):
        UNKNOWN = "", "Not recorded"
        TIGHT = "tight", "Tight"
        HAIRLINE = "hairline", "Hairline gap"
        OPEN = "open", "Open joint"
        MOVING = "moving", "Moving"
        SOFT = "soft", "Soft wood beside it"
        NOT_APPLICABLE = "na", "Not applicable"

    class Result(models.TextChoices):
        SOUND = "sound", "Sound"
        WATCH = "watch", "Watch"
        REDO = "redo", "Redo"
        NOT_REACHED = "not_reached", "Could not be reached"

    class FlakingDepth(models.TextChoices):
        COATS = "coats", FLAKING_DEPTH_WORDS["coats"].capitalize()
        WOOD = "wood", FLAKING_DEPTH_WORDS["wood"].capitalize()

    SIZED = ("blistering", "cracking", "flaking")
    RATINGS = ("blistering", "cracking", "flaking", "chalking", "cross_cut")

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="inspections")
    zone = models.CharField(max_length=5, choices=Zone, default=Zone.WHOLE)
    repair = models.ForeignKey(
        Repair, null=True, blank=True, on_delete=models.PROTECT, related_name="inspections"
    )
    due = models.ForeignKey(
        DueDate,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="inspections",
        help_text="The due date that this look answers, or tried to.",
    )
    occasion = models.CharField(max_length=12, choices=Occasion, default=Occasion.ROUTINE)
    looked_on = models.DateField()
    looked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    looked_by_name = models.CharField(max_length=200, blank=True)
    blistering = _rating("blistering", "ISO 4628-2, 0 none to 5 severe.")
    cracking = _rating("cracking", "ISO 4628-4, 0 none to 5 severe.")
    flaking = _rating("flaking", "ISO 4628-5, 0 none to 5 severe.")
    chalking = _rating("chalking", "ISO 4628-6, 0 none to 5 severe.")
    cross_cut = _rating("cross-cut", "ISO 2409, 0 best to 5 worst.")
    blistering_size = _size("size of the blisters", "ISO 4628-1, S0 to S5.")
    cracking_size = _size("size of the cracks", "ISO 4628-1, S0 to S5.")
    flaking_size = _size("size of the flakes", "ISO 4628-5, S0 to S5.")
    flaking_depth = models.CharField(
        "depth of the flaking",
        max_length=5,
        blank=True,
        choices=FlakingDepth,
        help_text="ISO 4628-5.",
    )
    not_applicable = models.JSONField(default=list, blank=True)
    edge = models.CharField(
        "edge of the repair", max_length=8, blank=True, choices=Edge, default=Edge.UNKNOWN
    )
    condition = models.CharField(
        "condition class",
        max_length=3,
        blank=True,
        choices=CONDITION_CHOICES,
        help_text="EN 16096.",
    )
    urgency = models.CharField(
        "urgency class", max_length=3, blank=True, choices=URGENCY_CHOICES, help_text="EN 16096."
    )
    moisture = models.ManyToManyField(MoistureReading, blank=True, related_name="inspections")
    result = models.CharField(max_length=11, choices=Result)
    opened_defect = models.OneToOneField(
        Defect, null=True, blank=True, on_delete=models.PROTECT, related_name="inspection"
    )
    notes = models.TextField(blank=True, max_length=5000)
    submission = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords(m2m_fields=[moisture])

    objects = InspectionQuerySet.as_manager()

    class Meta:
        ordering = ["-looked_on", "-pk"]
        indexes = [
            models.Index(fields=["member", "-looked_on"], name="inspection_member_newest"),
            models.Index(fields=["-looked_on", "-id"], name="inspection_newest"),
        ]
        constraints = [
            *(
                within(name, 0, 5, f"inspection_{name}_range", "A rating runs from 0 to 5.")
                for name in ("blistering", "cracking", "flaking", "chalking", "cross_cut")
            ),
            *(
                _only_where_found(
                    f"{name}_size", name, "A size belongs to a rating above 0: rate it first."
                )
                for name in ("blistering", "cracking", "flaking")
            ),
            _only_where_found(
                "flaking_depth", "flaking", "A depth belongs to flaking above 0: rate it first."
            ),
            # A try that did not reach the member leaves the date to be answered by a later look.
            models.UniqueConstraint(
                fields=["due"],
                condition=~Q(result="not_reached"),
                name="inspection_answers_a_date_once",
                violation_error_message="Somebody has recorded this look already.",
            ),
            models.CheckConstraint(
                condition=~Q(result="redo") | Q(opened_defect__isnull=False),
                name="inspection_redo_opens_a_defect",
                violation_error_message="'Redo' opens a defect; say what is wrong.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member}: {self.get_result_display().lower()}, {self.looked_on:%-d %B %Y}"

    def get_absolute_url(self) -> str:
        return reverse("inspection-detail", args=[self.pk])

    def clean(self) -> None:
        if self.repair and self.member_id and self.repair.member_id != self.member_id:
            raise ValidationError({"repair": "That repair is on another member."})
        for name in ("blistering", "cracking", "flaking", "chalking"):
            value = getattr(self, name)
            if value is not None and value * 2 != int(value * 2):
                raise ValidationError({name: "Whole or half classes only, such as 2 or 2.5."})

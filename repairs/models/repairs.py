"""A repair: one episode of work on one member, and its stages."""

from __future__ import annotations

import uuid
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Exists, F, Max, OuterRef, Q, Subquery, Sum
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import above_zero, within
from properties.models import Defect, Member, Property
from properties.models.members import LONGEST_SEARCH, Zone
from properties.models.owners import on_one_of


class RepairQuerySet(models.QuerySet["Repair"]):
    def within(self, properties: models.QuerySet[Property]) -> RepairQuerySet:
        return self.filter(on_one_of(properties, "member__building__property"))

    def with_place(self) -> RepairQuerySet:
        return self.select_related("member__building__property", "member__elevation")

    def standing(self) -> RepairQuerySet:
        """Repairs that were really done: all but the withdrawn ones."""
        return self.exclude(state=Repair.State.WITHDRAWN)

    def curing(self, at: datetime) -> RepairQuerySet:
        """Repairs with a batch that is not ready yet at an instant."""
        return self.standing().filter(stages__ready_at__gt=at).distinct()

    def waiting_for_a_word(self) -> RepairQuerySet:
        """Repairs with a remark that holds back the next step."""
        return (
            self.standing()
            .filter(remarks__holds=True, remarks__released_on__isnull=True)
            .distinct()
        )

    def matching(self, text: str) -> RepairQuerySet:
        """Repairs whose member, place, people or notes hold every word of the text."""
        found = self
        for word in text[:LONGEST_SEARCH].split()[:8]:
            found = found.filter(
                Q(member__mark__icontains=word)
                | Q(member__building__name__icontains=word)
                | Q(member__building__property__name__icontains=word)
                | Q(done_by__icontains=word)
                | Q(notes__icontains=word)
            )
        return found

    def with_standing(self, told: models.QuerySet[Any]) -> RepairQuerySet:
        """Adds `cured_at`, `waits` and `cost_home_minor`, what a list says of each repair; the
        cost is that of the lines `told`."""
        itself = Repair.objects.filter(pk=OuterRef("pk")).order_by()
        return self.annotate(
            cured_at=Subquery(itself.annotate(last=Max("stages__ready_at")).values("last")),
            waits=Exists(itself.filter(remarks__holds=True, remarks__released_on__isnull=True)),
            cost_home_minor=Subquery(
                told.filter(repair=OuterRef("pk"))
                .order_by()
                .values("repair")
                .annotate(total=Sum("home_minor"))
                .values("total")
            ),
        )


class Repair(models.Model):
    """One episode of work on one member, from opening up to sign-off."""

    class Kind(models.TextChoices):
        RESIN = "resin", "Resin repair"
        SPLICE = "splice", "Timber splice"
        REPLACEMENT = "replacement", "Replacement"
        REPAINT = "repaint", "Repaint"
        MAKE_SAFE = "make_safe", "Make safe"

    class Relation(models.TextChoices):
        FIRST = "first", "First repair here"
        REPEAT = "repeat", "Repeat: damaged again"
        REDO = "redo", "Redo: the earlier repair failed"

    class State(models.TextChoices):
        IN_WORK = "in_work", "In work"
        FINISHED = "finished", "Finished"
        FAILED = "failed", "Failed"
        WITHDRAWN = "withdrawn", "Withdrawn: entered by mistake"

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="repairs")
    zone = models.CharField(max_length=5, choices=Zone, default=Zone.WHOLE)
    kind = models.CharField(max_length=11, choices=Kind, default=Kind.RESIN)
    temporary = models.BooleanField(
        default=False, help_text="Holds until the lasting repair; looked at every three months."
    )
    relation = models.CharField(max_length=6, choices=Relation, default=Relation.FIRST)
    follows = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="followed_by",
        help_text="The earlier repair that this one repeats or does again.",
    )
    defects = models.ManyToManyField(Defect, blank=True, related_name="repairs")
    state = models.CharField(max_length=9, choices=State, default=State.IN_WORK)
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    failed_on = models.DateField(null=True, blank=True)
    done_by = models.CharField(max_length=200, blank=True)
    engineer_note = models.TextField(
        blank=True, max_length=5000, help_text="What the licensed engineer decided, who and when."
    )
    lead_note = models.TextField(
        blank=True, max_length=5000, help_text="How lead in old paint was tested for and kept in."
    )
    notes = models.TextField(blank=True, max_length=5000)
    # One form sent twice makes one repair.
    submission = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    objects = RepairQuerySet.as_manager()

    class Meta:
        ordering = ["-began_at", "-pk"]
        indexes = [
            models.Index(fields=["-began_at", "-id"], name="repair_newest"),
            models.Index(fields=["member", "-began_at"], name="repair_member_newest"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("began_at")),
                name="repair_ends_after_it_begins",
                violation_error_message="The repair ends before it begins.",
            ),
            models.CheckConstraint(
                condition=Q(relation="first", follows__isnull=True)
                | (~Q(relation="first") & Q(follows__isnull=False)),
                name="repair_relation_names_the_earlier_one",
                violation_error_message=(
                    "A repeat or redo names the earlier repair; a first does not."
                ),
            ),
            models.CheckConstraint(
                condition=Q(follows__isnull=True) | ~Q(follows=F("id")),
                name="repair_does_not_follow_itself",
            ),
            models.CheckConstraint(
                condition=Q(failed_on__isnull=True) | Q(state="failed"),
                name="repair_failed_on_fits_state",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.member}, {self.began_at:%-d %B %Y}"

    def get_absolute_url(self) -> str:
        return reverse("repair-detail", args=[self.pk])

    def clean(self) -> None:
        if self.follows and self.member_id and self.follows.member_id != self.member_id:
            raise ValidationError({"follows": "The earlier repair was on another member."})


class StageQuerySet(models.QuerySet["Stage"]):
    def curing(self, at: datetime) -> StageQuerySet:
        return self.filter(ready_at__gt=at).exclude(repair__state=Repair.State.WITHDRAWN)

    def within(self, properties: models.QuerySet[Property]) -> StageQuerySet:
        return self.filter(on_one_of(properties, "repair__member__building__property"))


class Stage(models.Model):
    """One step of a repair; stages run in order and cure stands between them."""

    class Kind(models.TextChoices):
        OPEN_UP = "open_up", "Open up"
        DRY = "dry", "Dry"
        TREAT = "treat", "Treat"
        SEAL = "seal", "Seal"
        FILL = "fill", "Fill"
        SHAPE = "shape", "Shape"
        PRIME = "prime", "Prime"
        PAINT = "paint", "Paint"

    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="stages")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=7, choices=Kind)
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ready_at = models.DateTimeField(
        null=True,
        blank=True,
        help_text="When its cure is reached by the sheet and the temperature recorded.",
    )
    ready_basis = models.CharField(max_length=300, blank=True)
    thickness_mm = models.DecimalField(
        "layer thickness",
        max_digits=7,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01"))],
    )
    air_c = models.DecimalField(
        "air temperature",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
    )
    surface_c = models.DecimalField(
        "surface temperature",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
    )
    humidity_pct = models.DecimalField(
        "relative humidity",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
    )
    moisture_pct = models.DecimalField(
        "wood moisture before it",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(200)],
        help_text="The worst reading, corrected; % of oven-dry mass.",
    )
    washed_and_abraded = models.BooleanField(
        null=True, help_text="The layer below was washed and abraded first."
    )
    done_by = models.CharField(max_length=200, blank=True)
    notes = models.TextField(blank=True, max_length=5000)
    history = HistoricalRecords()

    objects = StageQuerySet.as_manager()

    class Meta:
        ordering = ["repair", "position"]
        indexes = [models.Index(fields=["ready_at"], name="stage_ready_at")]
        constraints = [
            models.UniqueConstraint(fields=["repair", "position"], name="stage_position_once"),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("began_at")),
                name="stage_ends_after_it_begins",
                violation_error_message="The stage ends before it begins.",
            ),
            above_zero(
                "thickness_mm", "stage_thickness_positive", "A layer is thicker than nothing."
            ),
            within(
                "humidity_pct",
                0,
                100,
                "stage_humidity_percent",
                "Relative humidity runs from 0 to 100 %.",
            ),
            within("moisture_pct", 0, 200, "stage_moisture_range"),
        ]

    def __str__(self) -> str:
        return f"{self.position}. {self.get_kind_display()}"

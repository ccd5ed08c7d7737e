"""Batches: what was mixed, from which lots, and where its grams went."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import DecimalField, F, OuterRef, Q, Subquery, Sum, Value
from django.db.models.functions import Coalesce
from simple_history.models import HistoricalRecords

from config.constraints import above_zero, within
from materials.models import Lot, Movement, SheetRevision

from .repairs import Repair, Stage


def _summed(model: type[models.Model]) -> Coalesce:
    """The amounts of a batch's parts, or of its shares, added up."""
    rows = model._default_manager.filter(batch=OuterRef("pk")).order_by().values("batch")
    total = Subquery(rows.annotate(total=Sum("amount")).values("total"))
    return Coalesce(total, Value(Decimal(0)), output_field=DecimalField())


class BatchQuerySet(models.QuerySet["Batch"]):
    def left_over_since(self, since: datetime) -> BatchQuerySet:
        """Batches mixed since an instant of which some went neither into work nor to waste;
        `left_over_amount` says how much."""
        return (
            self.filter(mixed_at__gte=since)
            .exclude(mixed_for__repair__state=Repair.State.WITHDRAWN)
            .annotate(left_over_amount=_summed(BatchPart) - _summed(BatchShare))
            .filter(left_over_amount__gt=0)
        )

    def that_went_into(self, repair: Repair) -> BatchQuerySet:
        """Batches mixed for a stage of the repair, or shared to one."""
        shared = BatchShare.objects.filter(stage__repair=repair).order_by()
        stages = repair.stages.order_by()
        return self.filter(Q(mixed_for__in=stages) | Q(pk__in=shared.values("batch")))


class Batch(models.Model):
    """One mix of a two-part product, or one helping of a one-part product."""

    class Basis(models.TextChoices):
        WEIGHT = "weight", "By weight"
        VOLUME = "volume", "By volume"
        KIT = "kit", "By fraction of a kit"

    class Witness(models.TextChoices):
        NONE = "", "Not recorded"
        HARD = "hard", "Hard: a thumbnail leaves no dent"
        SOFT = "soft", "Soft"
        TACKY = "tacky", "Tacky"

    sheet = models.ForeignKey(
        SheetRevision,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The sheet revision of its day; its figures judge this batch for good.",
    )
    basis = models.CharField(max_length=6, choices=Basis, default=Basis.WEIGHT)
    typed = models.CharField(max_length=120, blank=True, help_text="The amount as it was typed.")
    mixed_for = models.ForeignKey(
        Stage,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="batches_mixed",
        help_text="The stage that it was mixed for; shares say where its grams went.",
    )
    mixed_at = models.DateTimeField()
    applied_at = models.DateTimeField(
        "last used", null=True, blank=True, help_text="When the last of it was put on."
    )
    air_c = models.DecimalField(
        "air temperature", max_digits=4, decimal_places=1, null=True, blank=True
    )
    surface_c = models.DecimalField(
        "surface temperature", max_digits=4, decimal_places=1, null=True, blank=True
    )
    humidity_pct = models.DecimalField(
        "relative humidity",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
    )
    abandoned = models.BooleanField(default=False, help_text="It went off in the pot: all waste.")
    witness = models.CharField(
        "witness sample", max_length=5, blank=True, default=Witness.NONE, choices=Witness
    )
    mixed_by = models.CharField(max_length=200, blank=True)
    notes = models.TextField(blank=True, max_length=5000)
    history = HistoricalRecords()

    objects = BatchQuerySet.as_manager()

    class Meta:
        ordering = ["mixed_at", "pk"]
        verbose_name_plural = "batches"
        constraints = [
            models.CheckConstraint(
                condition=Q(applied_at__isnull=True) | Q(applied_at__gte=F("mixed_at")),
                name="batch_applied_after_mixed",
                violation_error_message="It was used before it was mixed.",
            ),
            within("humidity_pct", 0, 100, "batch_humidity_percent"),
        ]

    def __str__(self) -> str:
        return f"Batch of {self.sheet.product}, {self.mixed_at:%-d %B %Y %H:%M}"

    def total(self) -> Decimal:
        """All that was mixed, in the unit of its parts (g or ml)."""
        return sum((part.amount for part in self.parts.all()), Decimal(0))


class BatchPart(models.Model):
    """How much of one lot went into a batch; a batch may hold two lots of A."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="parts")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    part = models.CharField(max_length=3, choices=Lot.Part)
    amount = models.DecimalField(
        max_digits=12, decimal_places=3, help_text="In the lot's unit, as measured."
    )
    kit_fraction = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    cost_minor = models.BigIntegerField(
        null=True, blank=True, help_text="From the lot's unit cost, in the lot's currency."
    )
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="+")
    waste_movement = models.OneToOneField(
        Movement,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The part of it that went to waste, where some was used.",
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["batch", "part", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__gt=0),
                name="batch_part_amount_positive",
                violation_error_message="An amount is above zero.",
            ),
            models.CheckConstraint(
                condition=Q(part__in=["a", "b", "one"]),
                name="batch_part_is_a_part",
                violation_error_message="A batch holds A, B or a one-part product.",
            ),
            above_zero("kit_fraction", "batch_part_kit_fraction_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.amount} {self.lot.unit} of {self.lot}"


class BatchShare(models.Model):
    """Where part of a batch went: to a stage (of this repair or another), or to waste."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="shares")
    stage = models.ForeignKey(
        Stage,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="batch_shares",
        help_text="Empty for waste.",
    )
    amount = models.DecimalField(
        max_digits=12, decimal_places=3, help_text="In the unit of the batch's parts."
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["batch", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__gt=0),
                name="batch_share_positive",
                violation_error_message="A share of a batch is above zero.",
            ),
            models.UniqueConstraint(
                fields=["batch", "stage"],
                condition=Q(stage__isnull=False),
                name="batch_share_once_per_stage",
            ),
            models.UniqueConstraint(
                fields=["batch"],
                condition=Q(stage__isnull=True),
                name="batch_share_one_waste",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount} to {self.stage or 'waste'}"

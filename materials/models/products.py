"""Products: what a maker sells."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Count, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

if TYPE_CHECKING:
    from .sheets import SheetRevision


class ProductQuerySet(models.QuerySet["Product"]):
    def with_current_sheet(self) -> ProductQuerySet:
        return self.prefetch_related(models.Prefetch("sheets", to_attr="sheets_newest_first"))

    def with_lot_count(self) -> ProductQuerySet:
        """Adds `lot_count`: lots in stores, a kit counted once."""
        kept = Q(lots__parent__isnull=True, lots__emptied_on__isnull=True)
        return self.annotate(lot_count=Count("lots", filter=kept)).order_by("name", "maker")

    def still_bought(self, on: date) -> ProductQuerySet:
        return self.filter(Q(withdrawn_on__isnull=True) | Q(withdrawn_on__gt=on))

    def withdrawn(self, on: date) -> ProductQuerySet:
        return self.filter(withdrawn_on__lte=on)


class Product(models.Model):
    class Kind(models.TextChoices):
        SEALER = "sealer", "Sealer (penetrating resin)"
        LAMINATING_RESIN = "laminating_resin", "Laminating resin"
        FILLER = "filler", "Filler (putty or paste)"
        ADHESIVE = "adhesive", "Adhesive"
        PRESERVATIVE = "preservative", "Wood preservative"
        PAINT_PRIMER = "paint_primer", "Paint primer"
        PAINT = "paint", "Paint or stain"
        OTHER = "other", "Other"

    class Parts(models.IntegerChoices):
        ONE = 1, "One part, used as it comes"
        TWO = 2, "Two parts, resin A and hardener B"

    name = models.CharField(max_length=200, help_text="As printed on the tin.")
    maker = models.CharField(max_length=200, blank=True)
    kind = models.CharField(max_length=20, choices=Kind)
    parts = models.PositiveSmallIntegerField(choices=Parts, default=Parts.TWO)
    notes = models.TextField(blank=True, max_length=5000)
    withdrawn_on = models.DateField(
        null=True, blank=True, help_text="From this day no longer bought; its records stay."
    )
    history = HistoricalRecords()

    objects = ProductQuerySet.as_manager()

    class Meta:
        ordering = ["name", "maker"]
        constraints = [
            models.UniqueConstraint(
                fields=["name", "maker"],
                name="product_once_per_maker",
                violation_error_message="This maker's product of that name is already kept.",
            ),
            models.CheckConstraint(condition=Q(parts__in=[1, 2]), name="product_one_or_two_parts"),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.maker})" if self.maker else self.name

    def get_absolute_url(self) -> str:
        return reverse("product-detail", args=[self.pk])

    def sheet_on(self, on: date) -> SheetRevision | None:
        """The sheet revision in force on a day; the oldest one for days before any was issued."""
        sheets = sorted(self.sheets.all(), key=lambda sheet: (sheet.issued_on, sheet.pk))
        in_force = [sheet for sheet in sheets if sheet.issued_on <= on]
        return in_force[-1] if in_force else (sheets[0] if sheets else None)

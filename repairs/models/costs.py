"""Cost lines: the money of a building, line by line, never edited."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import not_negative
from materials.append_only import AppendOnly, AppendOnlyQuerySet
from properties.models import Building, Defect, Elevation, Member, Ownership, Property
from properties.models.owners import on_one_of

from .batches import Batch
from .repairs import Repair, Stage


class SharedCost(models.Model):
    """One amount, such as a scaffold, split over several members by a stated rule."""

    class Rule(models.TextChoices):
        EQUAL = "equal", "Equal shares"
        LENGTH = "length", "By length of member"
        HOURS = "hours", "By hours worked"
        STATED = "stated", "By stated parts"

    description = models.CharField(max_length=200)
    rule = models.CharField(max_length=6, choices=Rule)
    total_minor = models.BigIntegerField()
    currency = models.CharField(max_length=3)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["-entered_at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(total_minor=0), name="shared_cost_not_zero"),
            models.CheckConstraint(
                condition=Q(currency__regex=r"^[A-Z]{3}$"), name="shared_cost_currency_code"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.description}, {self.get_rule_display().lower()}"


class CostLineQuerySet(AppendOnlyQuerySet["CostLine"]):
    def within(self, properties: models.QuerySet[Property]) -> CostLineQuerySet:
        return self.filter(on_one_of(properties, "building__property"))

    def of_current_owner(self) -> CostLineQuerySet:
        """Lines since the current owner took over; all of them where nobody held it before."""
        held_before = Ownership.objects.filter(property=OuterRef("property"), to_on__isnull=False)
        taken_over_later = Ownership.objects.filter(
            Exists(held_before),
            property=OuterRef("building__property"),
            to_on__isnull=True,
            from_on__gt=OuterRef("counts_on"),
        )
        return self.exclude(Exists(taken_over_later))

    def standing(self) -> list[CostLine]:
        """Lines that are neither taken back nor taking another back. Sifted here and not in
        SQL: SQLite takes 'reverses is null' for one row and then walks the whole ledger."""
        return [line for line in self.select_related("reversed_by") if not line.is_taken_back]

    def for_list(self) -> CostLineQuerySet:
        """With what a row names, fetched apart: joined, SQLite walks from the buildings to all
        their lines and sorts them, in place of reading the newest from the index."""
        return self.prefetch_related("building__property", "member", "reversed_by")

    def with_place(self) -> CostLineQuerySet:
        return self.select_related("building__property", "member", "reversed_by")


class CostLine(AppendOnly):
    """Money on a building; mostly also on a member and a repair. Credits are negative.

    `home_minor` is the amount in the property's own currency at the rate of its day, so that
    a later rate never changes an old report. `year` is the year of `counts_on`, the day that
    reports go by: the invoice's day where there is one, else the day of the work."""

    CORRECTION = "A cost line is corrected by a reversing line"

    class Kind(models.TextChoices):
        LABOUR = "labour", "Labour"
        MATERIAL = "material", "Material"
        ACCESS = "access", "Access"
        PLANT = "plant", "Plant hire"
        DISPOSAL = "disposal", "Disposal"
        FEE = "fee", "Fee"
        MAKING_GOOD = "making_good", "Making good"
        TRAVEL = "travel", "Travel"
        CREDIT = "credit", "Credit"
        OTHER = "other", "Other"

    class Bearer(models.TextChoices):
        OWNER = "owner", "Owner"
        OCCUPIER = "occupier", "Occupier"
        INSURER = "insurer", "Insurer"
        CONTRACTOR = "contractor", "Contractor, under warranty"

    class MoneyClass(models.TextChoices):
        UNKNOWN = "", "Not said"
        REVENUE = "revenue", "Revenue"
        CAPITAL = "capital", "Capital"

    building = models.ForeignKey(Building, on_delete=models.PROTECT, related_name="cost_lines")
    elevation = models.ForeignKey(
        Elevation, null=True, blank=True, on_delete=models.PROTECT, related_name="cost_lines"
    )
    member = models.ForeignKey(
        Member,
        db_index=False,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="cost_lines",
    )
    repair = models.ForeignKey(
        Repair,
        db_index=False,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="cost_lines",
    )
    stage = models.ForeignKey(
        Stage,
        db_index=False,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="cost_lines",
    )
    batch = models.ForeignKey(
        Batch,
        db_index=False,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="cost_lines",
        help_text="The batch whose material this money paid for.",
    )
    shared = models.ForeignKey(
        SharedCost,
        db_index=False,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="lines",
    )
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )
    kind = models.CharField(max_length=11, choices=Kind)
    cause = models.CharField(
        max_length=14,
        choices=Defect.Cause,
        default=Defect.Cause.UNKNOWN,
        help_text="The cause of the damage that this money made good.",
    )
    description = models.CharField(max_length=200, blank=True)
    amount_minor = models.BigIntegerField(help_text="In the currency's smallest unit.")
    currency = models.CharField(max_length=3)
    rate = models.DecimalField(
        max_digits=16,
        decimal_places=8,
        default=Decimal(1),
        help_text="What one unit of the currency was worth in the property's currency that day.",
    )
    home_minor = models.BigIntegerField(help_text="In the property's currency.")
    tax_minor = models.BigIntegerField(null=True, blank=True, help_text="Tax within the amount.")
    borne_by = models.CharField(max_length=10, choices=Bearer, default=Bearer.OWNER)
    money_class = models.CharField(
        max_length=7, blank=True, choices=MoneyClass, default=MoneyClass.UNKNOWN
    )
    supplier = models.CharField(max_length=200, blank=True)
    invoice = models.CharField(max_length=80, blank=True)
    worked_on = models.DateField("day of the work")
    invoiced_on = models.DateField("day of the invoice", null=True, blank=True)
    paid_on = models.DateField("day of payment", null=True, blank=True)
    counts_on = models.DateField(editable=False)
    year = models.PositiveSmallIntegerField(editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    objects = CostLineQuerySet.as_manager()

    class Meta:
        ordering = ["-counts_on", "-pk"]
        indexes = [
            # Covering indexes: a sum reads the index alone, of some days too (DEVELOPERS.md).
            *(
                models.Index(fields=[*fields, "home_minor", "counts_on"], name=f"cost_{name}")
                for name, fields in (
                    ("building", ("building", "year", "kind", "cause")),
                    ("year", ("year", "kind", "cause")),
                    ("member", ("building", "member")),
                    ("of_member", ("member",)),
                    ("bearer", ("borne_by", "money_class", "currency", "rate", "tax_minor")),
                )
            ),
            models.Index(fields=["-counts_on", "-id"], name="cost_newest"),
            # Most lines have no batch, many no repair: an index of nothing misleads the planner.
            models.Index(
                fields=["repair", "home_minor", "counts_on"],
                name="cost_repair",
                condition=Q(repair__isnull=False),
            ),
            *(
                models.Index(
                    fields=[name], name=f"cost_{name}", condition=Q(**{f"{name}__isnull": False})
                )
                for name in ("stage", "batch", "shared")
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=~Q(amount_minor=0),
                name="cost_amount_not_zero",
                violation_error_message="A cost line of nothing says nothing; leave it out.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="credit") | Q(amount_minor__lt=0) | Q(reverses__isnull=False),
                name="cost_credit_is_negative",
                violation_error_message="A credit lowers the cost: its amount is negative.",
            ),
            models.CheckConstraint(
                condition=Q(kind="credit") | Q(amount_minor__gt=0) | Q(reverses__isnull=False),
                name="cost_is_positive",
                violation_error_message="Money back is a credit, or reverses an earlier line.",
            ),
            models.CheckConstraint(
                condition=Q(amount_minor__gt=0, home_minor__gte=0)
                | Q(amount_minor__lt=0, home_minor__lte=0),
                name="cost_home_has_same_sign",
            ),
            models.CheckConstraint(condition=Q(rate__gt=0), name="cost_rate_positive"),
            models.CheckConstraint(
                condition=Q(currency__regex=r"^[A-Z]{3}$"), name="cost_currency_code"
            ),
            models.CheckConstraint(
                condition=Q(invoiced_on__isnull=True, counts_on=F("worked_on"))
                | Q(invoiced_on__isnull=False, counts_on=F("invoiced_on")),
                name="cost_counts_on_follows_dates",
            ),
            models.CheckConstraint(
                condition=Q(counts_on__year=F("year")), name="cost_year_follows_counts_on"
            ),
        ]

    def __str__(self) -> str:
        return self.description or self.get_kind_display()

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.set_day()
        super().save(*args, **kwargs)

    def get_absolute_url(self) -> str:
        return reverse("cost-line-detail", args=[self.pk])

    def clean(self) -> None:
        if self.member and self.member.building_id != self.building_id:
            raise ValidationError({"member": "That member belongs to another building."})
        if self.repair and self.member_id and self.repair.member_id != self.member_id:
            raise ValidationError({"repair": "That repair is on another member."})

    @property
    def is_taken_back(self) -> bool:
        """Whether this line and another of the opposite amount cancel out."""
        return self.reverses_id is not None or hasattr(self, "reversed_by")

    def set_day(self) -> None:
        """Fill the day and year that reports go by."""
        self.counts_on = self.invoiced_on or self.worked_on
        self.year = self.counts_on.year


class Labour(models.Model):
    """Hours on a repair, at a rate; its money is a cost line."""

    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="labour")
    stage = models.ForeignKey(
        Stage, null=True, blank=True, on_delete=models.PROTECT, related_name="labour"
    )
    who = models.CharField(max_length=200, blank=True)
    hours = models.DecimalField(max_digits=7, decimal_places=2)
    rate_minor = models.BigIntegerField(null=True, blank=True, help_text="Per hour.")
    currency = models.CharField(max_length=3)
    cost_line = models.OneToOneField(
        CostLine, null=True, blank=True, on_delete=models.PROTECT, related_name="labour"
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["repair", "pk"]
        verbose_name_plural = "labour"
        constraints = [
            models.CheckConstraint(
                condition=Q(hours__gt=0),
                name="labour_hours_positive",
                violation_error_message="Hours are above zero.",
            ),
            not_negative("rate_minor", "labour_rate_not_negative"),
            models.CheckConstraint(
                condition=Q(currency__regex=r"^[A-Z]{3}$"), name="labour_currency_code"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.hours} h {self.who}".strip()

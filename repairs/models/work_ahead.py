"""What the years ahead are reckoned with: rates that a person typed, work that a person moved."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import above_zero, not_negative
from properties.models import Elevation, Member, Property
from properties.models.owners import on_one_of


class WorkRateQuerySet(models.QuerySet["WorkRate"]):
    def within(self, properties: models.QuerySet[Property]) -> WorkRateQuerySet:
        return self.filter(on_one_of(properties, "property"))


class WorkRate(models.Model):
    """What one job costs at a property, as a person typed it, in today's money and the
    property's currency. It is asked where the building's own past tells nothing."""

    class What(models.TextChoices):
        LOOK = "look", "A look"
        REPAINT = "repaint", "A repaint"
        REPAIR = "repair", "A repair"
        LADDER = "ladder", "Access by ladder"
        TOWER = "tower", "Access by tower"
        SCAFFOLD = "scaffold", "Access by scaffold"
        ROPE = "rope", "Access by rope"

    class Per(models.TextChoices):
        MEMBER = "member", "each member"
        METRE = "metre", "each metre of length"
        ELEVATION = "elevation", "each elevation, each time"
        AREA = "area", "each square metre of elevation, each time"

    ACCESS = ("ladder", "tower", "scaffold", "rope")

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="work_rates")
    what = models.CharField(max_length=8, choices=What)
    per = models.CharField(max_length=9, choices=Per)
    low_minor = models.BigIntegerField(null=True, blank=True)
    likely_minor = models.BigIntegerField()
    high_minor = models.BigIntegerField(null=True, blank=True)
    source = models.CharField(max_length=300, help_text="Such as a quotation and its day.")
    history = HistoricalRecords()

    objects = WorkRateQuerySet.as_manager()

    class Meta:
        ordering = ["property", "what"]
        constraints = [
            models.UniqueConstraint(
                fields=["property", "what"],
                name="work_rate_once",
                violation_error_message="There is a rate for this already; change that one.",
            ),
            not_negative("low_minor", "work_rate_low_not_negative"),
            above_zero("likely_minor", "work_rate_likely_positive", "A rate is above zero."),
            models.CheckConstraint(
                condition=(Q(low_minor__isnull=True) | Q(low_minor__lte=F("likely_minor")))
                & (Q(high_minor__isnull=True) | Q(high_minor__gte=F("likely_minor"))),
                name="work_rate_in_order",
                violation_error_message="The low is not above the likely, the high not below it.",
            ),
            models.CheckConstraint(
                condition=Q(what__in=("ladder", "tower", "scaffold", "rope"))
                & Q(per__in=("elevation", "area"))
                | ~Q(what__in=("ladder", "tower", "scaffold", "rope"))
                & Q(per__in=("member", "metre")),
                name="work_rate_per_fits",
                violation_error_message="Access is priced by elevation or its area; work by member "
                "or by metre.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()}, {self.get_per_display()}"

    def get_absolute_url(self) -> str:
        return reverse("work-rates", args=[self.property_id])


class WorkMoveQuerySet(models.QuerySet["WorkMove"]):
    def within(self, properties: models.QuerySet[Property]) -> WorkMoveQuerySet:
        return self.filter(on_one_of(properties, "property"))


class WorkMove(models.Model):
    """Work of some years that a person planned for another year: of one elevation, so that it is
    done from one scaffold, or of one member. It changes no due date; it says how the years ahead
    are meant to be."""

    class Kind(models.TextChoices):
        REPAINT = "repaint", "Repaints"
        REPAIR = "repair", "Repairs"
        BOTH = "both", "Repaints and repairs"

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="work_moves")
    elevation = models.ForeignKey(
        Elevation, null=True, blank=True, on_delete=models.CASCADE, related_name="work_moves"
    )
    member = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.CASCADE, related_name="work_moves"
    )
    kind = models.CharField(max_length=7, choices=Kind, default=Kind.REPAINT)
    first_year = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1900), MaxValueValidator(2300)]
    )
    last_year = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1900), MaxValueValidator(2300)]
    )
    to_year = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1900), MaxValueValidator(2300)]
    )
    reason = models.CharField(max_length=300)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    objects = WorkMoveQuerySet.as_manager()

    class Meta:
        ordering = ["property", "to_year", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(elevation__isnull=False, member__isnull=True)
                | Q(elevation__isnull=True, member__isnull=False),
                name="work_move_of_one_thing",
                violation_error_message="Choose an elevation or a member, one of the two.",
            ),
            models.CheckConstraint(
                condition=Q(last_year__gte=F("first_year")),
                name="work_move_years_rise",
                violation_error_message="The last year is not before the first.",
            ),
            models.CheckConstraint(
                condition=~Q(reason=""),
                name="work_move_with_reason",
                violation_error_message="Say why it is moved.",
            ),
        ]

    def __str__(self) -> str:
        what = self.elevation or self.member
        years = f"{self.first_year} to {self.last_year}"
        if self.first_year == self.last_year:
            years = str(self.first_year)
        return f"{self.get_kind_display()} of {years} at {what} in {self.to_year}"

    def get_absolute_url(self) -> str:
        return reverse("ahead-property", args=[self.property_id])

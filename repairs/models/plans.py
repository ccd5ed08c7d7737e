"""A planned repair: what is to be done about a defect, with what, when, and against which other
choices. What follows from it is computed; see `repairs.plans`."""

from __future__ import annotations

import uuid
from decimal import Decimal

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import above_zero, not_negative, within
from materials.models import SheetRevision
from properties.models import Defect, Property
from properties.models.members import LONGEST_SEARCH, Zone
from properties.models.owners import on_one_of

from .repairs import Repair, Stage

ABOVE_ZERO = [MinValueValidator(Decimal("0.01"), "Type a figure above zero.")]
PERCENT = [MinValueValidator(0), MaxValueValidator(100)]


def _figure(digits: int, places: int, help_text: str = "", **kwargs: object) -> models.DecimalField:
    return models.DecimalField(
        max_digits=digits,
        decimal_places=places,
        null=True,
        blank=True,
        help_text=help_text,
        **kwargs,  # type: ignore[arg-type]
    )


class PlanQuerySet(models.QuerySet["Plan"]):
    def within(self, properties: models.QuerySet[Property]) -> PlanQuerySet:
        return self.filter(on_one_of(properties, "defect__member__building__property"))

    def with_place(self) -> PlanQuerySet:
        return self.select_related(
            "defect__member__building__property", "defect__member__elevation", "repair"
        )

    def still_planned(self) -> PlanQuerySet:
        """Neither logged as done nor dropped; the twin of `Plan.is_still_planned`."""
        return self.filter(state=Plan.State.PLANNED)

    def matching(self, text: str) -> PlanQuerySet:
        """Plans whose member, place or notes hold every word of the text."""
        found = self
        for word in text[:LONGEST_SEARCH].split()[:8]:
            found = found.filter(
                Q(defect__member__mark__icontains=word)
                | Q(defect__member__building__name__icontains=word)
                | Q(defect__member__building__property__name__icontains=word)
                | Q(notes__icontains=word)
            )
        return found

    def whole(self) -> PlanQuerySet:
        """With the rows that a plan is made of, in a fixed number of queries."""
        return self.with_place().prefetch_related(
            "shapes", "stages__sheet__product__sheets", "options"
        )


class Plan(models.Model):
    """One planned repair of one defect."""

    class State(models.TextChoices):
        PLANNED = "planned", "Planned"
        LOGGED = "logged", "Logged as done"
        DROPPED = "dropped", "Dropped"

    class Measured(models.TextChoices):
        SHAPES = "shapes", "From simple shapes"
        PROFILE = "profile", "From a profile measured along the member"
        POURED = "poured", "From water or dry sand poured in"
        NONE = "none", "No cavity to fill"

    class Filling(models.TextChoices):
        SOLID = "solid", "Solid"
        HOLLOW = "hollow", "Lined, the core left hollow"
        BLOCK = "block", "Lined, a timber block in the core"

    defect = models.ForeignKey(Defect, on_delete=models.PROTECT, related_name="plans")
    zone = models.CharField(max_length=5, choices=Zone, default=Zone.WHOLE)
    kind = models.CharField(max_length=11, choices=Repair.Kind, default=Repair.Kind.RESIN)
    starts_at = models.DateTimeField("work can start")
    state = models.CharField(max_length=7, choices=State, default=State.PLANNED)
    dropped_reason = models.CharField(max_length=300, blank=True)
    repair = models.OneToOneField(
        Repair, null=True, blank=True, on_delete=models.PROTECT, related_name="plan"
    )

    measured = models.CharField(max_length=7, choices=Measured, default=Measured.SHAPES)
    profile = models.JSONField(
        default=list, blank=True, help_text="Rows of place along the member, width, depth, in mm."
    )
    poured_ml = _figure(9, 1, "What the cavity took.", validators=ABOVE_ZERO)
    filling = models.CharField(max_length=6, choices=Filling, default=Filling.SOLID)
    shell_mm = _figure(6, 2, "How thick the lining is.", validators=ABOVE_ZERO)
    end_grain_mm2 = _figure(11, 1, "Area of end grain to seal.", validators=[MinValueValidator(0)])
    side_grain_mm2 = _figure(
        11, 1, "Area of side grain to seal.", validators=[MinValueValidator(0)]
    )
    paint_m2 = _figure(8, 3, "Area to paint.", validators=[MinValueValidator(0)])

    air_day_c = _figure(4, 1, "Warmest air of the day.")
    air_night_c = _figure(4, 1, "Coldest air of the night.")
    humidity_pct = _figure(4, 1, "Relative humidity at the warmest hour.", validators=PERCENT)
    wood_moisture_pct = _figure(4, 1, "% of oven-dry mass.", validators=PERCENT)
    forecast = models.JSONField(
        default=list, blank=True, help_text="Hourly rows: time in UTC, air °C, humidity %, rain mm."
    )

    scale_step_g = _figure(7, 3, "The smallest step that the scale shows.", validators=ABOVE_ZERO)
    pace_g_min = _figure(
        7, 1, "How much the crew lays in a minute; empty if not known.", validators=ABOVE_ZERO
    )
    loss_pct = _figure(4, 1, "Left in the cup and on the brush.", validators=PERCENT)

    labour_hours = _figure(7, 2, validators=[MinValueValidator(0)])
    labour_rate_minor = models.BigIntegerField(null=True, blank=True)
    access_minor = models.BigIntegerField(null=True, blank=True)

    study_years = models.PositiveSmallIntegerField(
        default=30, validators=[MinValueValidator(1), MaxValueValidator(100)]
    )
    real_rate_pct = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal("3.5"),
        validators=[MinValueValidator(-5), MaxValueValidator(25)],
    )
    price_rise_pct = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal("2.0"),
        validators=[MinValueValidator(-5), MaxValueValidator(25)],
    )

    notes = models.TextField(blank=True, max_length=5000)
    # One form sent twice makes one plan.
    submission = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    objects = PlanQuerySet.as_manager()

    class Meta:
        ordering = ["starts_at", "pk"]
        indexes = [models.Index(fields=["state", "starts_at"], name="plan_state_start")]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="dropped") & ~Q(dropped_reason="")
                | ~Q(state="dropped") & Q(dropped_reason=""),
                name="plan_dropped_with_reason",
                violation_error_message="Say why the plan is dropped.",
            ),
            models.CheckConstraint(
                condition=Q(state="logged", repair__isnull=False)
                | ~Q(state="logged") & Q(repair__isnull=True),
                name="plan_logged_names_its_repair",
            ),
            models.CheckConstraint(
                condition=~Q(measured="poured") | Q(poured_ml__isnull=False),
                name="plan_poured_says_how_much",
                violation_error_message="Say how much the cavity took.",
            ),
            models.CheckConstraint(
                condition=Q(filling="solid") | Q(shell_mm__isnull=False),
                name="plan_lining_says_how_thick",
                violation_error_message="Say how thick the lining is.",
            ),
            *(
                above_zero(name, f"plan_{name}_positive")
                for name in ("poured_ml", "shell_mm", "scale_step_g", "pace_g_min")
            ),
            *(
                not_negative(name, f"plan_{name}_not_negative")
                for name in (
                    "end_grain_mm2",
                    "side_grain_mm2",
                    "paint_m2",
                    "labour_hours",
                    "labour_rate_minor",
                    "access_minor",
                )
            ),
            *(
                within(name, 0, 100, f"plan_{name}_percent")
                for name in ("humidity_pct", "wood_moisture_pct", "loss_pct")
            ),
            within("study_years", 1, 100, "plan_study_years_range"),
            within("real_rate_pct", -5, 25, "plan_real_rate_range"),
            within("price_rise_pct", -5, 25, "plan_price_rise_range"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} planned for {self.defect.member}"

    def get_absolute_url(self) -> str:
        return reverse("plan-detail", args=[self.pk])

    def is_still_planned(self) -> bool:
        return self.state == self.State.PLANNED


class PlanShape(models.Model):
    """One simple shape of a cavity, added to it or taken off it."""

    class Shape(models.TextChoices):
        BOX = "box", "Box"
        WEDGE = "wedge", "Wedge"
        CYLINDER = "cylinder", "Cylinder"
        HALF_ROUND = "half_round", "Half-round"
        CONE = "cone", "Cone"

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="shapes")
    position = models.PositiveSmallIntegerField()
    shape = models.CharField(max_length=10, choices=Shape, default=Shape.BOX)
    taken_off = models.BooleanField(default=False)
    length_mm = models.DecimalField("length", max_digits=9, decimal_places=2, validators=ABOVE_ZERO)
    width_mm = models.DecimalField(
        "width or diameter", max_digits=9, decimal_places=2, validators=ABOVE_ZERO
    )
    depth_mm = _figure(9, 2, "Of a box or a wedge.", validators=ABOVE_ZERO)
    history = HistoricalRecords()

    class Meta:
        ordering = ["plan", "position"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "position"], name="plan_shape_position_once"),
            *(
                above_zero(name, f"plan_shape_{name}_positive")
                for name in ("length_mm", "width_mm", "depth_mm")
            ),
            models.CheckConstraint(
                condition=~Q(shape__in=["box", "wedge"]) | Q(depth_mm__isnull=False),
                name="plan_shape_depth_known",
                violation_error_message="A box or a wedge has a depth.",
            ),
        ]

    def __str__(self) -> str:
        return self.get_shape_display()


class PlanStage(models.Model):
    """One stage of the plan and the product that it is to be done with, if any."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="stages")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=7, choices=Stage.Kind)
    sheet = models.ForeignKey(
        SheetRevision, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    coats = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(10)]
    )
    layer_mm = _figure(7, 2, "Thickness of one layer.", validators=ABOVE_ZERO)
    history = HistoricalRecords()

    class Meta:
        ordering = ["plan", "position"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "position"], name="plan_stage_position_once"),
            within("coats", 1, 10, "plan_stage_coats_range"),
            above_zero("layer_mm", "plan_stage_layer_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.position}. {self.get_kind_display()}"

    def clean(self) -> None:
        if self.sheet is None and self.layer_mm is not None:
            raise ValidationError({"layer_mm": "A layer needs a product."})


class PlanOption(models.Model):
    """One way to deal with the defect, in money: a repair, a splice, a new member, or watching."""

    class Kind(models.TextChoices):
        REPAIR = "repair", "Repair"
        SPLICE = "splice", "Splice"
        REPLACE = "replace", "Replace"
        WATCH = "watch", "Watch"

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="options")
    kind = models.CharField(max_length=7, choices=Kind)
    first_minor = models.BigIntegerField(help_text="To do it once, access apart.")
    access_minor = models.BigIntegerField(default=0, help_text="Access, each time it is done.")
    life_years = models.DecimalField(max_digits=5, decimal_places=1, validators=ABOVE_ZERO)
    life_low_years = _figure(5, 1, "At worst.", validators=ABOVE_ZERO)
    life_high_years = _figure(5, 1, "At best.", validators=ABOVE_ZERO)
    upkeep_minor = models.BigIntegerField(default=0, help_text="Each year.")
    repaint_minor = models.BigIntegerField(default=0, help_text="Each repaint, access included.")
    repaint_years = _figure(4, 1, "Years between repaints.", validators=ABOVE_ZERO)
    cost_spread_pct = models.DecimalField(
        max_digits=4, decimal_places=1, default=Decimal(20), validators=PERCENT
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["plan", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "kind"], name="plan_option_once"),
            *(
                above_zero(name, f"plan_option_{name}_positive")
                for name in ("life_years", "life_low_years", "repaint_years")
            ),
            *(
                not_negative(name, f"plan_option_{name}_not_negative")
                for name in ("first_minor", "access_minor", "upkeep_minor", "repaint_minor")
            ),
            within("cost_spread_pct", 0, 100, "plan_option_spread_percent"),
            models.CheckConstraint(
                condition=Q(life_low_years__isnull=True)
                | Q(life_low_years__lte=models.F("life_years")),
                name="plan_option_low_life",
                violation_error_message="The life at worst is longer than the life expected.",
            ),
            models.CheckConstraint(
                condition=Q(life_high_years__isnull=True)
                | Q(life_high_years__gte=models.F("life_years")),
                name="plan_option_high_life",
                violation_error_message="The life at best is shorter than the life expected.",
            ),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()

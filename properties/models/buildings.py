"""Buildings and their elevations."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import above_zero, within

from .owners import Property


class BuildingQuerySet(models.QuerySet["Building"]):
    def standing(self) -> BuildingQuerySet:
        return self.filter(demolished_on__isnull=True)


class Building(models.Model):
    """One structure on a property."""

    class YearKnown(models.TextChoices):
        EXACT = "exact", "exactly"
        CIRCA = "circa", "about"
        BEFORE = "before", "before"
        UNKNOWN = "unknown", "not known"

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="buildings")
    name = models.CharField(max_length=200)
    year_built = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1000), MaxValueValidator(2200)]
    )
    year_known = models.CharField(
        "how the year is known", max_length=7, choices=YearKnown, default=YearKnown.UNKNOWN
    )
    storeys = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(200)]
    )
    latitude = models.DecimalField(
        max_digits=8,
        decimal_places=5,
        null=True,
        blank=True,
        validators=[MinValueValidator(-90), MaxValueValidator(90)],
        help_text="Degrees north of the equator; south is negative.",
    )
    longitude = models.DecimalField(
        max_digits=8,
        decimal_places=5,
        null=True,
        blank=True,
        validators=[MinValueValidator(-180), MaxValueValidator(180)],
        help_text="Degrees east of Greenwich; west is negative.",
    )
    altitude_m = models.DecimalField(
        "altitude",
        max_digits=6,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(-500), MaxValueValidator(6000)],
    )
    demolished_on = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True, max_length=5000)
    history = HistoricalRecords()

    objects = BuildingQuerySet.as_manager()

    class Meta:
        ordering = ["property", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                name="building_name_once_per_property",
                violation_error_message="This property already has a building of that name.",
            ),
            within("latitude", -90, 90, "building_latitude_range"),
            within("longitude", -180, 180, "building_longitude_range"),
            models.CheckConstraint(
                condition=Q(year_built__isnull=True, year_known="unknown")
                | (Q(year_built__isnull=False) & ~Q(year_known="unknown")),
                name="building_year_and_how_known",
                violation_error_message=(
                    "Give the year and how it is known, or leave it 'not known'."
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.property}"

    def get_absolute_url(self) -> str:
        return reverse("building-detail", args=[self.pk])

    def place_in_words(self) -> str:
        """`51.5° N, 0.12° W`; empty if either is not recorded."""
        if self.latitude is None or self.longitude is None:
            return ""
        north = f"{abs(self.latitude).normalize():f}° {'N' if self.latitude >= 0 else 'S'}"
        east = f"{abs(self.longitude).normalize():f}° {'E' if self.longitude >= 0 else 'W'}"
        return f"{north}, {east}"

    def year_in_words(self) -> str:
        if self.year_built is None:
            return "not known"
        if self.year_known == self.YearKnown.EXACT:
            return str(self.year_built)
        return f"{self.get_year_known_display()} {self.year_built}"


class Elevation(models.Model):
    """One face of a building, by the compass bearing that it faces."""

    class Access(models.TextChoices):
        GROUND = "ground", "From the ground"
        LADDER = "ladder", "Ladder"
        TOWER = "tower", "Tower"
        SCAFFOLD = "scaffold", "Scaffold"
        ROPE = "rope", "Rope"
        UNKNOWN = "unknown", "Not known"

    building = models.ForeignKey(Building, on_delete=models.PROTECT, related_name="elevations")
    name = models.CharField(max_length=80, help_text="Such as 'North' or 'Yard side'.")
    bearing_deg = models.DecimalField(
        "bearing",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(Decimal("359.9"))],
        help_text="The way it faces, in degrees from north: east is 90, south 180, west 270.",
    )
    access = models.CharField(max_length=8, choices=Access, default=Access.UNKNOWN)
    area_m2 = models.DecimalField(
        "area",
        max_digits=9,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01"))],
    )
    notes = models.TextField(blank=True, max_length=5000)
    history = HistoricalRecords()

    class Meta:
        ordering = ["building", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["building", "name"],
                name="elevation_name_once_per_building",
                violation_error_message="This building already has an elevation of that name.",
            ),
            models.CheckConstraint(
                condition=Q(bearing_deg__isnull=True) | Q(bearing_deg__gte=0, bearing_deg__lt=360),
                name="elevation_bearing_range",
                violation_error_message="A bearing runs from 0 to 359.9 degrees.",
            ),
            above_zero("area_m2", "elevation_area_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.name} elevation, {self.building}"

    def get_absolute_url(self) -> str:
        return reverse("elevation-detail", args=[self.pk])

    def faces(self) -> str:
        """The nearest of the eight winds, in words."""
        if self.bearing_deg is None:
            return "not recorded"
        winds = [
            "north",
            "north-east",
            "east",
            "south-east",
            "south",
            "south-west",
            "west",
            "north-west",
        ]
        return winds[int((float(self.bearing_deg) + 22.5) // 45) % 8]

"""The weather of a property: a year of hours from a file, and what the months are like."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from config.constraints import within

from .owners import Property


class WeatherFile(models.Model):
    """A typical year of hourly weather, read from a file in an open format. `hours` holds the
    columns that are reckoned with, packed; see `properties.weather_file`."""

    class Kind(models.TextChoices):
        EPW = "epw", "EPW"
        TMY3 = "tmy3", "TMY3"

    property = models.OneToOneField(Property, on_delete=models.PROTECT, related_name="weather_file")
    kind = models.CharField(max_length=4, choices=Kind)
    file_name = models.CharField(max_length=200)
    checksum = models.CharField(max_length=64)
    place = models.CharField(max_length=200, help_text="The station, as the file names it.")
    latitude = models.DecimalField(max_digits=8, decimal_places=5)
    longitude = models.DecimalField(max_digits=8, decimal_places=5)
    altitude_m = models.DecimalField(max_digits=6, decimal_places=1)
    utc_offset_h = models.DecimalField(max_digits=4, decimal_places=2)
    rain_is_known = models.BooleanField()
    hours = models.BinaryField()
    source_note = models.CharField(
        max_length=300, blank=True, help_text="Who publishes it, and under which terms."
    )
    attached_at = models.DateTimeField(auto_now_add=True)
    attached_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords(excluded_fields=["hours"])

    class Meta:
        ordering = ["property"]
        constraints = [
            within("latitude", -90, 90, "weather_latitude_range"),
            within("longitude", -180, 180, "weather_longitude_range"),
            within("utc_offset_h", -12, 14, "weather_utc_offset_range"),
        ]

    def __str__(self) -> str:
        return f"{self.place} ({self.get_kind_display()})"


class MonthlyNormal(models.Model):
    """What one month is usually like: mean air, and days on which it rains."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="monthly_normals")
    month = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(12)]
    )
    mean_c = models.DecimalField(
        "mean air temperature",
        max_digits=4,
        decimal_places=1,
        validators=[MinValueValidator(-60), MaxValueValidator(50)],
    )
    rain_days = models.DecimalField(
        "days with rain",
        max_digits=4,
        decimal_places=1,
        validators=[MinValueValidator(0), MaxValueValidator(31)],
        help_text="Days with 0.25 mm (0.01 in) or more.",
    )
    source = models.CharField(max_length=300, blank=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["property", "month"]
        constraints = [
            models.UniqueConstraint(fields=["property", "month"], name="normal_once_a_month"),
            models.CheckConstraint(
                condition=Q(month__gte=1, month__lte=12), name="normal_month_range"
            ),
            within("mean_c", -60, 50, "normal_mean_range"),
            within("rain_days", 0, 31, "normal_rain_days_range"),
        ]

    def __str__(self) -> str:
        return f"{self.property}, month {self.month}"

"""People: what a log-in of ours knows beyond Django's user."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from simple_history.models import HistoricalRecords

from config.quantities import UnitSystem

from .owners import Property


class Person(models.Model):
    """One person who logs in. What they may do comes from their group (managers, crew,
    viewers); which properties a viewer reads is kept here."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="person"
    )
    unit_system = models.CharField(
        "units",
        max_length=6,
        blank=True,
        choices=[
            (UnitSystem.METRIC.value, "Metric (mm, g, °C)"),
            (UnitSystem.US.value, "US (in, oz, °F)"),
        ],
        help_text="Empty for the units of each property.",
    )
    properties = models.ManyToManyField(
        Property,
        blank=True,
        related_name="people",
        help_text="A viewer reads only these; managers and crew see all.",
    )
    history = HistoricalRecords(m2m_fields=[properties])

    class Meta:
        ordering = ["user__last_name", "user__first_name", "user__username"]
        verbose_name_plural = "people"

    def __str__(self) -> str:
        return self.user.get_full_name() or self.user.get_username()

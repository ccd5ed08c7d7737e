"""People: what a log-in of ours knows beyond Django's user."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from config.quantities import UnitSystem

from .owners import Property


class Weekday(models.IntegerChoices):
    """As Python counts them."""

    MONDAY = 0, "Monday"
    TUESDAY = 1, "Tuesday"
    WEDNESDAY = 2, "Wednesday"
    THURSDAY = 3, "Thursday"
    FRIDAY = 4, "Friday"
    SATURDAY = 5, "Saturday"
    SUNDAY = 6, "Sunday"


class MailsTell(models.TextChoices):
    OWN = "own", "What I am to look at"
    EVERY = "every", "Everything that I may see"


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
    weekly_mail = models.BooleanField(
        "a mail each week",
        null=True,
        blank=True,
        help_text="What is overdue, and what falls in the seven days to come. Not chosen: as is "
        "usual for the role, which is yes for managers and crew, and no for viewers.",
    )
    weekly_mail_day = models.PositiveSmallIntegerField(
        "day of that mail", choices=Weekday, default=Weekday.MONDAY
    )
    day_before_mail = models.BooleanField(
        "a mail on the day before",
        null=True,
        blank=True,
        help_text="What falls on the morrow. Not chosen: as is usual for the role.",
    )
    mails_tell = models.CharField(
        "what the mails tell of",
        max_length=5,
        blank=True,
        choices=MailsTell,
        help_text="Not chosen: everything, but for crew what they are to look at.",
    )
    history = HistoricalRecords(m2m_fields=[properties])

    class Meta:
        ordering = ["user__last_name", "user__first_name", "user__username"]
        verbose_name_plural = "people"
        constraints = [
            models.CheckConstraint(
                condition=Q(weekly_mail_day__gte=0, weekly_mail_day__lte=6),
                name="person_weekday",
                violation_error_message="Choose a day of the week.",
            ),
        ]

    def __str__(self) -> str:
        return self.user.get_full_name() or self.user.get_username()

"""Secret addresses from which a calendar program reads when to look again."""

from __future__ import annotations

import secrets
import uuid
from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from properties.models import Property

TOKEN_BYTES = 32


def new_token() -> str:
    """43 letters, digits, hyphens and underlines, from 32 random bytes."""
    return secrets.token_urlsafe(TOKEN_BYTES)


class CalendarFeed(models.Model):
    """One address of one person. What it shows follows from what that person may see on the day
    it is read. It keeps no history: an old token is worth nothing, and is nobody's to read."""

    class Shows(models.TextChoices):
        OWN = "own", "What I am to look at"
        EVERY = "every", "Everything that I may see"
        PROPERTY = "property", "One property"

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_feeds"
    )
    shows = models.CharField(max_length=8, choices=Shows, default=Shows.OWN)
    property = models.ForeignKey(
        Property, null=True, blank=True, on_delete=models.CASCADE, related_name="+"
    )
    over_window = models.BooleanField(
        "from the first to the last good day",
        default=False,
        help_text="Each entry then runs over its whole window of days, not on the day alone.",
    )
    # Names the entries for good: a new address must not make every look a second one.
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    token = models.CharField(max_length=43, unique=True, editable=False, default=new_token)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    renewed_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["user", "property__name", "shows", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(shows="property", property__isnull=False)
                | (~Q(shows="property") & Q(property__isnull=True)),
                name="calendar_feed_property_if_of_one",
                violation_error_message="Choose the property that the calendar is to show.",
            ),
            models.UniqueConstraint(
                fields=["user", "shows"],
                condition=Q(property__isnull=True),
                name="calendar_feed_shows_once",
                violation_error_message="You have an address for this already; see below.",
            ),
            models.UniqueConstraint(
                fields=["user", "property"],
                name="calendar_feed_property_once",
                violation_error_message="You have an address for this property already.",
            ),
        ]

    def __str__(self) -> str:
        return self.property.name if self.property else self.get_shows_display()

    def get_absolute_url(self) -> str:
        """The secret address itself."""
        return reverse("calendar-file", args=[self.token])

    def renew(self, at: datetime) -> None:
        """From now on the old address is nobody's."""
        self.token, self.renewed_at = new_token(), at
        self.save(update_fields=["token", "renewed_at"])

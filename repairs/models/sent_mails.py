"""Which mails went out, so that none goes out twice."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class SentMail(models.Model):
    """One mail handed to the mail server. The row is written in the transaction of the sending:
    either both happened, or neither did."""

    class Kind(models.TextChoices):
        WEEKLY = "weekly", "Weekly digest"
        DAY_BEFORE = "day_before", "Day before"

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="sent_mails"
    )
    kind = models.CharField(max_length=10, choices=Kind)
    for_day = models.DateField(help_text="The day that the mail is about, or its week begins with.")
    address = models.EmailField()
    sent_at = models.DateTimeField()

    class Meta:
        ordering = ["-for_day", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["user", "kind", "for_day"],
                name="sent_mail_once",
                violation_error_message="This mail has gone out already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} for {self.for_day:%-d %B %Y} to {self.address}"

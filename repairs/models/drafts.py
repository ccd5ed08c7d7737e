"""Drafts: a repair half typed, with its photographs, kept until it is saved or thrown away."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.urls import reverse

from properties.models import Member

from .photographs import Photograph, photograph_path


class Draft(models.Model):
    """What a person typed into the log page. The key goes with the form, and becomes the
    submission of the repair, so that one form sent twice makes one repair."""

    key = models.UUIDField(default=uuid.uuid4, unique=True)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="drafts"
    )
    member = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    typed = models.JSONField(default=dict, help_text="Field name to the list of values typed.")
    begun_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    # Photographs of a rejected save wait here too; such a draft is listed only once kept.
    kept = models.BooleanField(default=False)

    class Meta:
        ordering = ["-changed_at"]

    def __str__(self) -> str:
        return f"Draft for {self.member}" if self.member else "Draft"

    def get_absolute_url(self) -> str:
        return f"{reverse('repair-log')}?draft={self.key}"


class DraftPhotograph(models.Model):
    draft = models.ForeignKey(Draft, on_delete=models.CASCADE, related_name="photographs")
    file = models.ImageField(upload_to=photograph_path, max_length=120)
    original_name = models.CharField(max_length=200, blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    moment = models.CharField(
        max_length=10, choices=Photograph.Moment, default=Photograph.Moment.AFTER
    )
    caption = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.caption or self.original_name

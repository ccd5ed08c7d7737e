"""Filters that write the classes of the open standards with their meaning in words."""

from __future__ import annotations

from django import template

from properties.classes import URGENCY_CHOICES

register = template.Library()


@register.filter
def urgency_in_words(value: str | None) -> str:
    """`UC2 – short term`; of an empty class, that none is recorded."""
    return dict(URGENCY_CHOICES).get(value or "", "urgency not recorded")

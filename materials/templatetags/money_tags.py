"""Money in templates: `{{ line.amount_minor|money:line.currency }}`."""

from __future__ import annotations

from django import template

from materials.money import show_money

register = template.Library()


@register.filter
def money(minor: int | None, currency: str) -> str:
    """`GBP 1,234.50`, or "not recorded" for None."""
    if minor is None or minor == "":
        return "not recorded"
    return show_money(int(minor), currency)

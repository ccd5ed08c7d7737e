"""The checks that many tables share: a figure that is empty or within its bounds."""

from __future__ import annotations

from django.db.models import CheckConstraint, Q


def above_zero(field: str, name: str, message: str = "") -> CheckConstraint:
    """Empty, or above zero."""
    return _check(Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gt": 0}), name, message)


def not_negative(field: str, name: str, message: str = "") -> CheckConstraint:
    """Empty, zero or above."""
    return _check(Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gte": 0}), name, message)


def within(field: str, low: float, high: float, name: str, message: str = "") -> CheckConstraint:
    """Empty, or from the lowest to the highest, both included."""
    bounds = Q(**{f"{field}__gte": low, f"{field}__lte": high})
    return _check(Q(**{f"{field}__isnull": True}) | bounds, name, message)


def _check(condition: Q, name: str, message: str) -> CheckConstraint:
    return CheckConstraint(condition=condition, name=name, violation_error_message=message or None)

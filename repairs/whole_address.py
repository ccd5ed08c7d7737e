"""Addresses of pages that are read outside of a browser: in a calendar, in a mail."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest


def whole_address(path: str, request: HttpRequest | None = None) -> str:
    """The path behind MAKEGOOD_BASE_URL, else behind the host that was just asked."""
    if settings.BASE_URL or request is None:
        return f"{settings.BASE_URL}{path}"
    return request.build_absolute_uri(path)

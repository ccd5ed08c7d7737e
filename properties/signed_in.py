"""Who sent a request, for acts that are kept with a person's name."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.http import HttpRequest


def signed_in(request: HttpRequest) -> User:
    """The person; the log-in middleware lets nobody else reach a view."""
    assert isinstance(request.user, User)
    return request.user

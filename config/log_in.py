"""The log-in form, which gives up on a name after too many wrong passwords."""

from __future__ import annotations

from hashlib import sha256
from typing import Any

from django.contrib.auth.forms import AuthenticationForm
from django.core.cache import cache
from django.core.exceptions import ValidationError

MOST_TRIES = 10
MINUTES = 10


class LogInForm(AuthenticationForm):
    """Counted by name and address together, so that a stranger cannot lock a person out from
    elsewhere. Each server process counts for itself; whoever needs one count for all of them,
    or a limit by address alone, sets it in the proxy in front."""

    def clean(self) -> dict[str, Any]:
        key = self._counter()
        if cache.get(key, 0) >= MOST_TRIES:
            raise ValidationError(
                f"Too many wrong passwords. Wait {MINUTES} minutes and try again, or ask a "
                "manager for a new password.",
                code="too_many_tries",
            )
        try:
            cleaned: dict[str, Any] = super().clean()
        except ValidationError:
            cache.set(key, cache.get(key, 0) + 1, MINUTES * 60)
            raise
        cache.delete(key)
        return cleaned

    def _counter(self) -> str:
        name = str(self.cleaned_data.get("username", "")).casefold()
        address = self.request.META.get("REMOTE_ADDR", "") if self.request else ""
        return "log-in:" + sha256(f"{address} {name}".encode()).hexdigest()

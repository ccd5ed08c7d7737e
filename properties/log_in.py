"""Logging in with the person's own choices at hand."""

from __future__ import annotations

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import User


class PersonBackend(ModelBackend):
    """Brings the person along with the user, as every page that shows a figure asks for it."""

    def get_user(self, user_id: int) -> User | None:
        user = User.objects.select_related("person").filter(pk=user_id).first()
        return user if user is not None and self.user_can_authenticate(user) else None

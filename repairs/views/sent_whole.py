"""One transaction round what is sent, so that it is judged and kept in one; none round reading."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.db import transaction
from django.http import HttpRequest, HttpResponse

View = Callable[..., HttpResponse]


def sent_whole(view: View) -> View:
    """A view that may hold rows from before it judges a form until it has kept it."""

    @wraps(view)
    def judged_and_kept(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if request.method != "POST":
            return view(request, *args, **kwargs)
        with transaction.atomic():
            return view(request, *args, **kwargs)

    return judged_and_kept

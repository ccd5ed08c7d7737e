"""The first screen: what wants doing today."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from properties.access import properties_for
from repairs.stories.today_page import today_page
from repairs.stories.today_words import today_rows


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    """Everybody who is logged in; each sees only what lies within their properties."""
    at = timezone.now()
    page = today_page(request.user, at)
    nothing_yet = page.is_empty() and not properties_for(request.user).exists()
    rows = today_rows(page, timezone.localdate(at))
    context = {"page": page, "rows": rows, "nothing_yet": nothing_yet}
    return render(request, "repairs/today.html", context)

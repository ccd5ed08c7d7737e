"""Answers about the records are for one person, and for no cache that several share."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control


def private_answers(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Not 'no-store': that would empty a half-typed form when somebody goes back to it."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if not response.has_header("Cache-Control"):
            patch_cache_control(response, private=True)
        return response

    return answer

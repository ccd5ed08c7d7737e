"""Photographs, given only to those who may see what they show."""

from __future__ import annotations

from typing import IO, cast

from django.contrib.auth.decorators import login_required, permission_required
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404, HttpRequest
from django.shortcuts import get_object_or_404
from django.utils.cache import patch_cache_control
from django.views.decorators.http import require_safe

from repairs.access import find_photograph
from repairs.models import DraftPhotograph
from repairs.photograph_files import small_copy, small_name

A_DAY = 24 * 3600


@require_safe
@permission_required("repairs.view_photograph", raise_exception=True)
def photograph_file(request: HttpRequest, pk: int) -> FileResponse:
    return _answer(find_photograph(request.user, pk).file, request.GET.get("size") == "small")


@require_safe
@login_required
def draft_photograph_file(request: HttpRequest, pk: int) -> FileResponse:
    """A photograph that waits in a draft; only its own person sees it."""
    held = get_object_or_404(DraftPhotograph, pk=pk, draft__user_id=request.user.pk)
    return _answer(held.file, request.GET.get("size") == "small")


def _answer(file: FieldFile, small: bool) -> FileResponse:
    try:
        content = _small(file) if small else file.open("rb")
    except FileNotFoundError:
        raise Http404("The file of this photograph is missing.") from None
    answer = FileResponse(cast("IO[bytes]", content), content_type="image/jpeg")
    answer["Content-Disposition"] = "inline"
    answer["X-Content-Type-Options"] = "nosniff"
    patch_cache_control(answer, private=True, max_age=A_DAY)
    return answer


def _small(file: FieldFile) -> IO[bytes]:
    """The small copy, made at the first asking and kept beside the photograph."""
    name = small_name(str(file.name))
    if not default_storage.exists(name):
        with file.open("rb") as whole:
            made = small_copy(cast("IO[bytes]", whole))
        name = default_storage.save(name, ContentFile(made))
    return cast("IO[bytes]", default_storage.open(name, "rb"))

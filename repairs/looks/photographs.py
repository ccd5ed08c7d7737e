"""Photographs of a look, held in a draft while the form is put right."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID

from django.core.exceptions import ValidationError

from repairs.logbook import drafts
from repairs.models import DraftPhotograph, Photograph
from repairs.photograph_files import checked_photograph

if TYPE_CHECKING:
    from django.contrib.auth.models import User
    from django.http import HttpRequest


def hold_photographs(
    request: HttpRequest, by: User, key: UUID, caption: str
) -> list[ValidationError]:
    """Keep each photograph that can be read, so that a rejected save loses none; returns what is
    wrong with the others."""
    errors = []
    for upload in request.FILES.getlist("photographs"):
        try:
            prepared = checked_photograph(upload)
        except ValidationError as error:
            errors.append(error)
            continue
        draft = drafts.begin(by, key)
        drafts.add_photograph(draft, prepared, Photograph.Moment.INSPECTION, caption)
    return errors


def held_photographs(by: User, key: UUID) -> list[DraftPhotograph]:
    draft = drafts.find_draft(by, key)
    return list(draft.photographs.all()) if draft else []


def tend_held(request: HttpRequest, by: User, key: UUID) -> None:
    """Captions typed and photographs taken out since they were held."""
    for held in held_photographs(by, key):
        if request.POST.get(f"leave-out-{held.pk}"):
            drafts.leave_out(held)
            continue
        caption = request.POST.get(f"caption-{held.pk}")
        if caption is not None and caption != held.caption:
            held.caption = caption.replace("\0", "")[:300]
            held.save(update_fields=["caption"])

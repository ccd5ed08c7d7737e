"""Photographs on the log page: those that come with it, and those that wait in the draft."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict

from repairs.logbook import drafts
from repairs.models import Draft, Photograph
from repairs.photograph_files import checked_photograph

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

MOMENTS = [
    (Photograph.Moment.BEFORE, "Before"),
    (Photograph.Moment.DURING, "During"),
    (Photograph.Moment.AFTER, "After"),
]
MOST_PHOTOGRAPHS = 60
LONGEST_CAPTION = 300


@dataclass(frozen=True)
class NewPhotographs:
    """Where photographs of one moment are chosen; `name` is that of the file field."""

    moment: str
    words: str
    errors: list[str]

    @property
    def name(self) -> str:
        return f"photographs-{self.moment}"


def take_in(
    draft: Draft, files: MultiValueDict[str, UploadedFile], typed: QueryDict
) -> dict[str, list[str]]:
    """Hold every photograph that can be read; answers what is wrong with the others. The same
    file of the same moment, sent again, is held once."""
    wrong: dict[str, list[str]] = {}
    held = set(draft.photographs.values_list("sha256", "moment"))
    for moment, _ in MOMENTS:
        captions = typed.getlist(f"captions-{moment}")
        for place, upload in enumerate(files.getlist(f"photographs-{moment}")):
            caption = captions[min(place, len(captions) - 1)] if captions else ""
            try:
                if len(held) >= MOST_PHOTOGRAPHS:
                    raise ValidationError(
                        f"One repair holds {MOST_PHOTOGRAPHS} photographs. Leave one out first."
                    )
                prepared = checked_photograph(upload)
                if (prepared.sha256, moment) not in held:
                    drafts.add_photograph(draft, prepared, moment, caption.strip())
                held.add((prepared.sha256, moment))
            except ValidationError as error:
                wrong.setdefault(moment, []).extend(error.messages)
    for moment, _ in MOMENTS:
        typed.pop(f"captions-{moment}", None)
    return wrong


def rename(draft: Draft, typed: QueryDict) -> None:
    """Captions and moments of the photographs held, and which are left out after all."""
    for held in draft.photographs.all():
        name = f"photograph-{held.pk}"
        if f"{name}-caption" not in typed:
            continue
        if typed.get(f"{name}-out"):
            drafts.leave_out(held)
            continue
        caption = typed.get(f"{name}-caption", "").strip()[:LONGEST_CAPTION]
        moment = typed.get(f"{name}-moment", held.moment)
        known = moment in Photograph.Moment.values
        if (held.caption, held.moment) != (caption, moment):
            held.caption, held.moment = caption, moment if known else held.moment
            held.save(update_fields=["caption", "moment"])
    for name in [name for name in typed if name.startswith("photograph-")]:
        del typed[name]


def rows_for_new(errors: dict[str, list[str]]) -> list[NewPhotographs]:
    return [NewPhotographs(moment, words, errors.get(moment, [])) for moment, words in MOMENTS]

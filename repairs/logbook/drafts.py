"""Drafts: what was typed into the log page, kept with its photographs until saved or thrown away.

A draft that was only made to hold photographs over a rejected save is listed nowhere; it is
forgotten after some days."""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Count
from django.http import QueryDict

from properties.models import Member
from repairs.models import Draft, DraftPhotograph, Photograph
from repairs.photograph_files import PreparedPhotograph, small_name, taken_at

if TYPE_CHECKING:
    from django.contrib.auth.models import AbstractBaseUser, User

UNKEPT_FOR = timedelta(days=7)
# What goes with every form, and buttons: no part of what was typed.
NOT_TYPED = ("csrfmiddlewaretoken", "act", "key")


def read_key(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def kept_by(user: AbstractBaseUser) -> list[Draft]:
    """What the person kept to finish later, the latest first."""
    kept = Draft.objects.filter(user_id=user.pk, kept=True)
    placed = kept.select_related("member__building__property")
    return list(placed.annotate(how_many_photographs=Count("photographs")))


def find_draft(user: AbstractBaseUser, key: UUID) -> Draft | None:
    return Draft.objects.filter(user_id=user.pk, key=key).first()


def begin(user: User, key: UUID) -> Draft:
    """The person's draft of that key, made if there is none yet."""
    draft, _ = Draft.objects.get_or_create(key=key, defaults={"user": user})
    if draft.user_id != user.pk:
        raise PermissionDenied("This draft is another person's.")
    return draft


def typed_in(draft: Draft) -> QueryDict:
    typed = QueryDict(mutable=True)
    for name, values in draft.typed.items():
        typed.setlist(name, [str(value) for value in values])
    typed["key"] = str(draft.key)
    return typed


def keep(draft: Draft, typed: QueryDict, member: Member | None) -> None:
    """Keep what was typed so that it can be finished later."""
    draft.typed = {
        # PostgreSQL keeps no null character in JSON.
        name: [str(value).replace("\x00", "") for value in values]
        for name, values in typed.lists()
        if name not in NOT_TYPED and any(values)
    }
    draft.member = member
    draft.kept = True
    draft.save()


def add_photograph(
    draft: Draft, prepared: PreparedPhotograph, moment: str, caption: str
) -> DraftPhotograph:
    return DraftPhotograph.objects.create(
        draft=draft,
        file=prepared.file(),
        original_name=prepared.original_name,
        sha256=prepared.sha256,
        moment=moment,
        caption=caption[:300],
    )


def leave_out(photograph: DraftPhotograph) -> None:
    _delete_files_later([photograph])
    photograph.delete()


def throw_away(draft: Draft) -> None:
    _delete_files_later(list(draft.photographs.all()))
    draft.delete()


def _delete_files_later(photographs: list[DraftPhotograph]) -> None:
    """Once the rows are surely gone: a file without its row can be lost, a row without its
    file cannot."""
    names = [str(photograph.file.name) for photograph in photographs]
    storage = DraftPhotograph._meta.get_field("file").storage

    def delete() -> None:
        for name in names:
            storage.delete(name)
            storage.delete(small_name(name))

    transaction.on_commit(delete)


def forget_unkept(user: AbstractBaseUser, at: datetime) -> None:
    stale = Draft.objects.filter(user_id=user.pk, kept=False, changed_at__lt=at - UNKEPT_FOR)
    for draft in stale.prefetch_related("photographs"):
        throw_away(draft)


def photographs_for(draft: Draft, zone: tzinfo) -> tuple[Photograph, ...]:
    """The rows, not saved yet, that a repair keeps of a draft; the files stay where they are."""
    return tuple(
        Photograph(
            file=held.file.name, sha256=held.sha256, original_name=held.original_name,
            moment=held.moment, caption=held.caption, taken_at=_taken_at(held, zone),
        )
        for held in draft.photographs.all()
    )  # fmt: skip


def _taken_at(held: DraftPhotograph, zone: tzinfo) -> datetime | None:
    with held.file.open("rb") as file:
        return taken_at(file, zone)


def handed_over(draft: Draft) -> None:
    """Its repair is saved, and owns the files now: the draft is gone."""
    draft.delete()

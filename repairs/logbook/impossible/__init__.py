"""What cannot have happened. All else is recorded, with a remark where it is bad practice."""

from __future__ import annotations

from datetime import datetime

from django.core.exceptions import ValidationError

from repairs.logbook.entry import RepairEntry
from repairs.logbook.placed import PlacedRemark, numbered

from .money import in_the_money
from .stages import in_stage, more_than_is_left
from .stop import WHOLE, stop
from .whole import in_the_whole, plan_is_closed

__all__ = ["impossible", "more_than_is_left", "plan_is_closed", "unsound"]


def impossible(entry: RepairEntry, at: datetime) -> tuple[PlacedRemark, ...]:
    return numbered(
        [
            *in_the_whole(entry, at),
            *(
                found
                for index, stage in enumerate(entry.stages)
                for found in in_stage(index, stage, at)
            ),
            *in_the_money(entry, at),
        ]
    )


def unsound(error: ValidationError) -> tuple[PlacedRemark, ...]:
    """Figures or words that do not fit where they are kept, found while saving."""
    return numbered(
        stop(
            WHOLE,
            "does-not-fit",
            f"{name.replace('_', ' ').capitalize()}: {sentence}",
            "what can be kept",
            "Correct it and save again.",
        )
        for name, sentences in error.message_dict.items()
        for sentence in sentences
    )

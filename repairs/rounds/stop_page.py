"""What the page of one stop shows to somebody who stands in front of the member."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.db.models import Q

from repairs.forms.inspections import InspectionForm
from repairs.looks.page import rating_words
from repairs.looks.ratings import NAMES, STANDARDS
from repairs.looks.words import as_last_time
from repairs.models import Inspection, Photograph, Round, RoundStop
from repairs.models.due_dates import DueKind
from repairs.rounds.standing import (
    StopState,
    answer_of,
    looker_words,
    next_to_do,
    stop_state,
    with_looks,
)
from repairs.rounds.stops import Place, place_of

if TYPE_CHECKING:
    from django.forms import BoundField

# What stands on the page by itself; every other field of a look is folded away under 'More'.
SHOWN = {"key", "due", "result", "edge", "notes", "photographs", "caption"}
WHAT_TO_LOOK_AT = {
    DueKind.REPAIR_LOOK: "The edge of the repair, the wood beside it, and the paint over both.",
    DueKind.COATING_LOOK: "The coating: flaking, cracking, blisters, chalk on a wiped finger.",
    DueKind.MEMBER_LOOK: "All of the member: joints, end grain, soft wood, and its coating.",
}


@dataclass(frozen=True)
class RatingButton:
    value: str
    figure: str
    words: str
    chosen: bool
    was_last: bool


@dataclass(frozen=True)
class RatingRow:
    """One rating as buttons: the whole classes, and folded away the half classes and the two
    answers that are none, with what else is told of it."""

    field: BoundField
    standard: str
    last: str
    whole: Sequence[RatingButton]
    others: Sequence[RatingButton]
    beside: Sequence[BoundField]

    @property
    def is_open(self) -> bool:
        told = any(button.chosen and button.value for button in self.others)
        return told or any(field.value() or field.errors for field in self.beside)


def rating_rows(form: InspectionForm, last: Inspection | None) -> list[RatingRow]:
    before = as_last_time(last) if last is not None else {}
    rows = []
    for name in NAMES:
        buttons = _buttons(form[name], before.get(name))
        whole = [button for button in buttons if button.value.isdecimal()]
        others = [button for button in buttons if not button.value.isdecimal()]
        beside = [form[each] for each in _beside(form, name)]
        words = rating_words(last, name)
        rows.append(RatingRow(form[name], STANDARDS[name], words, whole, others, beside))
    return rows


def _beside(form: InspectionForm, name: str) -> list[str]:
    """Further answers about one rating, such as the size of its flakes."""
    return [each for each in form.fields if each.startswith(f"{name}_")]


def _buttons(field: BoundField, before: str | None) -> Iterable[RatingButton]:
    chosen = str(field.value() or "")
    made = []
    for value, label in field.field.choices:  # type: ignore[attr-defined]
        figure, _, words = str(label).partition(" – ")
        short = words.split(",")[0] if words else ""
        made.append(RatingButton(value, figure, short, value == chosen, value == before))
    return made


def further_fields(form: InspectionForm) -> list[BoundField]:
    shown = {*SHOWN, *NAMES, *(each for name in NAMES for each in _beside(form, name))}
    return [
        field
        for field in form.visible_fields()
        if field.name not in shown and not field.name.startswith("defect_")
    ]


@dataclass(frozen=True)
class StopPage:
    """`number` counts along the round; `following` is the next stop still to be looked at."""

    round: Round
    stop: RoundStop
    place: Place
    state: StopState
    look: Inspection | None
    number: int
    of: int
    previous: RoundStop | None
    following: RoundStop | None
    place_of_following: int
    what: str
    last: Inspection | None
    last_photograph: Photograph | None

    def last_words(self) -> str:
        if self.last is None:
            return "No look is recorded yet."
        result = self.last.get_result_display().lower()
        when = f"{self.last.looked_on:%-d %B %Y}"
        return f"Last look on {when}: {result}, by {looker_words(self.last)}."


def stop_page(stop: RoundStop, last: Inspection | None, on: date) -> StopPage:
    stops = list(with_looks(stop.round.stops.all()))
    here = [each.pk for each in stops].index(stop.pk)
    whole = stops[here]
    following = next_to_do(stops, whole)
    return StopPage(
        round=stop.round,
        stop=whole,
        place=place_of(whole.due.member),
        state=stop_state(whole, on),
        look=answer_of(whole),
        number=here + 1,
        of=len(stops),
        previous=stops[here - 1] if here else None,
        following=following,
        place_of_following=stops.index(following) + 1 if following else 0,
        what=WHAT_TO_LOOK_AT.get(DueKind(whole.due.kind), ""),
        last=last,
        last_photograph=_last_photograph(whole),
    )


def _last_photograph(stop: RoundStop) -> Photograph | None:
    """The newest of what is looked at."""
    photographs = Photograph.objects.filter(member=stop.due.member)
    if (repair := stop.due.repair) is not None:
        photographs = photographs.filter(Q(repair=repair) | Q(inspection__repair=repair))
    return photographs.order_by("-pk").first()

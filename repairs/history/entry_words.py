"""Happenings put into sentences."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.urls import reverse

from materials.money import show_money
from properties.models import Defect, Member
from properties.models.members import Zone
from repairs.models import CostLine, Inspection, Repair, SignOff

from .entries import Happening
from .scope import Scope

ZONES = dict(Zone.choices)
DEFECTS = dict(Defect.Kind.choices)
CAUSES = dict(Defect.Cause.choices)
REPAIRS = dict(Repair.Kind.choices)
RELATIONS = dict(Repair.Relation.choices)
RESULTS = dict(Inspection.Result.choices)
VERDICTS = dict(SignOff.Verdict.choices)
COSTS = dict(CostLine.Kind.choices)
BEARERS = dict(CostLine.Bearer.choices)
MEMBERS = dict(Member.Kind.choices)
RESULT_STATES = {"sound": "sound", "watch": "watch", "redo": "redo", "not_reached": "unknown"}
LONGEST_TEXT = 300


@dataclass(frozen=True)
class Entry:
    """One line of the diary, ready to be drawn. `recorded` is the day it was entered, where
    that differs from the day it happened; `brief` is the text without notes."""

    when: date
    clock: str
    title: str
    member: str
    place: str
    text: str
    who: str
    url: str
    state: str
    state_word: str
    recorded: date | None
    brief: str


@dataclass(frozen=True)
class _Words:
    title: str
    text: str = ""
    state: str = ""
    state_word: str = ""
    url: tuple[str, int] | None = None


def entry_of(row: Happening, scope: Scope) -> Entry:
    words = _TELLERS[row.what](row, scope)
    entered = row.entered_at.astimezone(scope.zone).date() if row.entered_at else None
    name = f"{row.mark}: {words.title[0].lower()}{words.title[1:]}" if row.mark else words.title
    told = [each for each in (words.text, _short(row.text), _pictures(row.photographs)) if each]
    return Entry(
        when=row.on,
        clock=f"{row.at.astimezone(scope.zone):%H:%M}" if row.at else "",
        title=name,
        member=row.mark,
        place=row.place,
        text="\n".join(told),
        who=_by(row),
        url=reverse(words.url[0], args=[words.url[1]]) if words.url else "",
        state=words.state,
        state_word=words.state_word,
        recorded=entered if entered and entered != row.on else None,
        brief=words.text,
    )


def _by(row: Happening) -> str:
    if row.what == "owner":
        return ""
    role = f", {row.zone}" if row.what == "sign_off" and row.zone else ""
    return f"{row.who}{role}"


def _short(text: str) -> str:
    """The start of a long note; the whole stands with the member."""
    flat = " ".join(text.split())
    return flat if len(flat) <= LONGEST_TEXT else f"{flat[:LONGEST_TEXT].rstrip()} …"


def _pictures(count: int) -> str:
    return "" if not count else "One photograph" if count == 1 else f"{count} photographs"


def _day(day: date) -> str:
    return f"{day:%-d %B %Y}"


def _owner(row: Happening, scope: Scope) -> _Words:
    until = "" if row.other_on is None else f"Until {_day(row.other_on)}"
    return _Words(f"New owner: {row.who}", until)


def _given_up(row: Happening, scope: Scope) -> _Words:
    return _Words("No longer looked after from this day")


def _demolished(row: Happening, scope: Scope) -> _Words:
    return _Words(f"{row.place} demolished")


def _removed(row: Happening, scope: Scope) -> _Words:
    replaced = f"Replaced by {row.state}" if row.state else ""
    return _Words(
        f"{MEMBERS[row.code]} removed", replaced, "superseded", "Removed",
        ("member-detail", row.key),
    )  # fmt: skip


def _found(row: Happening, scope: Scope) -> _Words:
    cause = f"{ZONES[row.zone]}. Cause: {CAUSES[row.state].lower()}"
    return _Words(f"{DEFECTS[row.code]} found", cause, url=("defect-detail", row.key))


def _cause(row: Happening, scope: Scope) -> _Words:
    return _Words(
        f"Cause of the {DEFECTS[row.code].lower()} put right",
        f"Cause: {CAUSES[row.state].lower()}",
        url=("defect-detail", row.key),
    )  # fmt: skip


def _closed(row: Happening, scope: Scope) -> _Words:
    state = dict(Defect.State.choices)[row.state].lower()
    return _Words(
        f"{DEFECTS[row.code]} closed: {state}", ZONES[row.zone], url=("defect-detail", row.key)
    )


def _moisture(row: Happening, scope: Scope) -> _Words:
    corrected = f", corrected {plain(row.state)} %" if row.state else ", not corrected"
    text = f"{ZONES[row.zone]}: {plain(row.code)} % of oven-dry mass as read{corrected}"
    return _Words("Moisture reading", text)


def _repair(row: Happening, scope: Scope) -> _Words:
    ended = "" if row.other_on is None else f"; ended {_day(row.other_on)}"
    if row.other_on == row.on:
        ended = "; ended the same day"
    text = f"{ZONES[row.zone]}. {RELATIONS[row.state]}{ended}"
    return _Words(REPAIRS[row.code], text, url=("repair-detail", row.key))


def _failed(row: Happening, scope: Scope) -> _Words:
    return _Words(
        f"{REPAIRS[row.code]} failed", ZONES[row.zone], "redo", "Failed",
        ("repair-detail", row.key),
    )  # fmt: skip


def _released(row: Happening, scope: Scope) -> _Words:
    return _Words(
        "A remark released on the repair", f"Remark: {row.code}", url=("repair-detail", row.key)
    )


def _sign_off(row: Happening, scope: Scope) -> _Words:
    whole = f"stage {row.state}" if row.state else "the whole repair"
    return _Words(
        "Repair signed off" if row.code != SignOff.Verdict.REJECTED else "Repair rejected",
        f"{VERDICTS[row.code]}, {whole}",
        url=("repair-detail", row.key),
    )  # fmt: skip


def _inspection(row: Happening, scope: Scope) -> _Words:
    late = (row.on - row.other_on).days if row.other_on else 0
    text = ZONES[row.zone]
    if late > 0 and row.other_on:
        text += (
            f". It was due on {_day(row.other_on)}: {late} {'day' if late == 1 else 'days'} late"
        )
    return _Words(
        "Inspection", text, RESULT_STATES[row.code], RESULTS[row.code],
        ("inspection-detail", row.key),
    )  # fmt: skip


def _cost(row: Happening, scope: Scope) -> _Words:
    amount = show_money(row.amount or 0, scope.of.currency)
    worked = "" if row.other_on == row.on or not row.other_on else (
        f"; work of {_day(row.other_on)}"
    )  # fmt: skip
    borne = "" if row.state == CostLine.Bearer.OWNER else f"; borne by {BEARERS[row.state].lower()}"
    return _Words(
        f"{COSTS[row.code]}, {amount}", _sentence(f"{worked}{borne}".lstrip("; ")),
        url=("cost-line-detail", row.key),
    )  # fmt: skip


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def plain(number: str | Decimal) -> str:
    """13 for 13.0, 12.5 for 12.50."""
    return f"{Decimal(number).normalize():f}"


_TELLERS: dict[str, Callable[[Happening, Scope], _Words]] = {
    "owner": _owner,
    "given_up": _given_up,
    "demolished": _demolished,
    "removed": _removed,
    "found": _found,
    "cause": _cause,
    "closed": _closed,
    "moisture": _moisture,
    "repair": _repair,
    "failed": _failed,
    "released": _released,
    "sign_off": _sign_off,
    "inspection": _inspection,
    "cost": _cost,
}

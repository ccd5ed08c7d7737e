"""The rules for the repair as a whole."""

from __future__ import annotations

from decimal import Decimal
from itertools import chain

from .facts import CauseFacts, RepairFacts
from .limits import DEFAULT_LIMITS, LATEST_LEAD_BAN, LEAD_BANS, PRACTICE, Limit
from .remark import Remark
from .words import short

DISTURB_PAINT = frozenset({"open_up", "shape"})
PAINTING = frozenset({"prime", "paint"})
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")


def repair_remarks(facts: RepairFacts) -> list[Remark]:
    """All rules of a repair."""
    return list(chain.from_iterable(rule(facts) for rule in REPAIR_RULES))


def no_engineer_note(facts: RepairFacts) -> list[Remark]:
    """A member that carries load, or may, repaired without an engineer's note."""
    carries = facts.load_bearing != "no" or facts.structural_concern
    if facts.kind == "repaint" or not carries or facts.engineer_note.strip():
        return []
    found = {
        "yes": "This member carries load, and there is no note of an engineer.",
        "no": "The strength of this member is in doubt, and there is no note of an engineer.",
    }.get(
        facts.load_bearing,
        "Nobody recorded whether this member carries load, and there is no note of an engineer.",
    )
    return [
        Remark(
            "no-engineer-note",
            "warning",
            found,
            "a licensed engineer decides on timber that carries load",
            f"{PRACTICE}; NPS, From the Roof Down, on structural beams",
            "Ask a licensed engineer, and write down who decided what and when. "
            "These records do not say that it is safe.",
            holds=True,
        )
    ]


def lead_ban(ban_year: int | None, country: str) -> Limit:
    """The ban that a place goes by: its own year, its country's, else the latest one known."""
    if ban_year is not None:
        return Limit(Decimal(ban_year), "year", "the ban year recorded for this property")
    return LEAD_BANS.get(country, LATEST_LEAD_BAN)


def paint_presumed_leaded(paint_year: int | None, ban_year: int | None, country: str) -> bool:
    """Paint from before the ban, or of a year that nobody knows."""
    return paint_year is None or paint_year < lead_ban(ban_year, country).value


def lead_paint(facts: RepairFacts) -> list[Remark]:
    """Old paint disturbed, by opening up, shaping or making ready to repaint, without a note."""
    stages = set(facts.stages)
    disturbed = stages & DISTURB_PAINT or (facts.kind == "repaint" and stages & PAINTING)
    if not disturbed or facts.lead_note.strip():
        return []
    if not paint_presumed_leaded(facts.paint_year, facts.ban_year, facts.country):
        return []
    ban = lead_ban(facts.ban_year, facts.country)
    found = (
        "Paint of a year not known is disturbed, and nothing is noted about lead."
        if facts.paint_year is None
        else f"Paint that may be from {facts.paint_year} is disturbed, and nothing is noted "
        "about lead."
    )
    return [
        Remark(
            "lead-paint",
            "warning",
            found,
            f"paint from before {ban.value}, or of a year not known, is presumed to hold lead",
            f"{ban.source}; HSE advice to decorators",
            "Write down how it was tested, or how dust was kept in and people kept out. No dry "
            "sanding and no torch; follow the local law.",
        )
    ]


def cause_open(facts: RepairFacts) -> list[Remark]:
    """A lasting repair over a cause that is not put right."""
    if facts.temporary or facts.kind == "make_safe":
        return []
    return [
        Remark(
            "cause-open",
            "warning",
            f"{_start(cause)} is not put right{_for_good(cause)}, and the repair is not temporary.",
            "over a cause still at work only a temporary repair, looked at every 3 months",
            PRACTICE,
            "Put the cause right and record it, or mark this repair as temporary.",
            about=cause.words,
            holds=True,
        )
        for cause in facts.causes
        if cause.state in {"not_yet", "cannot"}
    ]


def cause_not_known(facts: RepairFacts) -> list[Remark]:
    """A lasting repair where nobody recorded whether the cause is put right."""
    if facts.temporary or facts.kind == "make_safe":
        return []
    return [
        Remark(
            "cause-not-known",
            "note",
            f"{_start(cause)}: not recorded whether it is put right.",
            "",
            PRACTICE,
            "Find where the water comes from; left alone it brings the damage back.",
            about=cause.words,
        )
        for cause in facts.causes
        if cause.state == "unknown"
    ]


def third_repair(facts: RepairFacts) -> list[Remark]:
    """The third repair, or a later one, on the same zone."""
    allowed = int(DEFAULT_LIMITS["repairs_on_one_spot"].value)
    if facts.kind in {"repaint", "replacement"} or facts.earlier_here < allowed:
        return []
    count = facts.earlier_here + 1
    ordinal = ORDINALS[count - 1] if count <= len(ORDINALS) else f"{count}th"
    where = short(facts.zone).lower() or "this spot"
    return [
        Remark(
            "third-repair",
            "warning",
            f"The {ordinal} repair here ({where}).",
            f"after {allowed} repairs on one spot, replacement is advised",
            DEFAULT_LIMITS["repairs_on_one_spot"].source,
            "Weigh a splice or a new member against another repair, and look for the cause again.",
        )
    ]


REPAIR_RULES = (
    no_engineer_note, lead_paint, cause_open, cause_not_known, third_repair,
)  # fmt: skip


def _start(cause: CauseFacts) -> str:
    return f"Cause “{short(cause.words)}”"


def _for_good(cause: CauseFacts) -> str:
    return " and cannot be" if cause.state == "cannot" else ""

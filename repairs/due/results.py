"""What the facts of one look do to the time until the next: how much sooner, why, by whose word.

Facts in, a verdict out. No fact makes a day later than the rule's own; of several the strictest
holds, and halves are not halved again. A person may name another day all the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from properties.classes import CONDITION_WORDS, URGENCY_WORDS
from repairs.due.intervals import PRACTICE, add_months
from repairs.due.series import NextStep

LIMIT_PCT = Decimal(20)
LIMIT_SOURCE = "US Navy MO-312, Wood protection, 4.2: at or below 20 % decay stops"
# The defects of a coating that let water in; chalking alone does not.
COATING_DEFECTS = ("flaking", "cracking", "blistering")
WORN_CLASS = Decimal(3)
LOOSE_CLASS = Decimal(4)
SET_BECAUSE_LONGEST = 300

_URGENT_MONTHS = {"UC2": 6, "UC3": 1}
_EDGE_WORDS = {"moving": "The repair is moving", "soft": "Soft wood beside the repair"}
_EDGE_MONTHS = 3
_MAJOR_MONTHS = 3
CONDITION = "Condition"


@dataclass(frozen=True)
class WorstOfCoating:
    """The highest class of flaking, cracking and blistering, ISO 4628, and which it is."""

    name: str
    rating: Decimal


def worst_of_coating(ratings: Mapping[str, Decimal | None]) -> WorstOfCoating | None:
    """The worst of what is recorded; of equals the first named, flaking before cracking before
    blistering. None where none of the three is recorded."""
    known = {name: rating for name in COATING_DEFECTS if (rating := ratings.get(name)) is not None}
    if not known:
        return None
    name = max(known, key=lambda each: known[each])
    return WorstOfCoating(name.capitalize(), known[name])


@dataclass(frozen=True)
class LookFound:
    """What one look found; empty, or None, where not recorded. `coating` is the worst of flaking,
    cracking and blistering; moisture is the reading that governs, in % of oven-dry mass,
    `over_range` where it is wetter than a meter can tell."""

    result: str
    edge: str = ""
    condition: str = ""
    urgency: str = ""
    coating: WorstOfCoating | None = None
    cross_cut: Decimal | None = None
    moisture_pct: Decimal | None = None
    over_range: bool = False


@dataclass(frozen=True)
class Reason:
    """One fact and what it asks: half the usual time, at most so many months, or nothing."""

    words: str
    source: str
    halves: bool = False
    within_months: int | None = None

    @property
    def acts(self) -> bool:
        return self.halves or self.within_months is not None

    @property
    def asks(self) -> str:
        within = in_months(self.within_months) if self.within_months is not None else ""
        half = "half the usual interval" if self.halves else ""
        return ", and ".join(filter(None, [half, within])) or "no sooner look"

    @property
    def sentence(self) -> str:
        return f"{self.words}: {self.asks} ({self.source})"


@dataclass(frozen=True)
class Verdict:
    """`reasons` make the next look sooner, the strictest first; `told` change no date."""

    reasons: tuple[Reason, ...] = ()
    told: tuple[Reason, ...] = ()
    misfit: str = ""

    @property
    def halves(self) -> bool:
        return any(reason.halves for reason in self.reasons)

    @property
    def within_months(self) -> int | None:
        """The most months that any of the facts allows; None where none names a number."""
        named = (reason.within_months for reason in self.reasons)
        return min((months for months in named if months is not None), default=None)

    @property
    def is_sooner(self) -> bool:
        return bool(self.reasons)

    def beside_condition_rule(self) -> Verdict:
        """What is left where the rule itself asks for the condition: it is not heeded twice."""
        kept = tuple(each for each in self.reasons if not each.words.startswith(CONDITION))
        return replace(self, reasons=kept)


def in_months(months: int) -> str:
    return "within a month" if months == 1 else f"within {months} months"


def judge_look(found: LookFound) -> Verdict:
    """What a look's facts ask of the next one. A member that was not reached tells nothing.

    Sources: moisture, MO-312 of the US Navy; all else common practice, no source."""
    if found.result == "not_reached":
        return Verdict()
    all_of_them = list(_reasons(found))
    acting = [reason for reason in all_of_them if reason.acts]
    acting.sort(key=lambda reason: (reason.within_months or 1000, not reason.halves))
    told = tuple(reason for reason in all_of_them if not reason.acts)
    return Verdict(tuple(acting), told, _misfit(found, acting))


def _reasons(found: LookFound) -> Iterator[Reason]:
    if found.result in {"watch", "redo"}:
        yield Reason(f"The result is '{found.result}'", PRACTICE, halves=True)
    yield from _of_edge(found.edge)
    yield from _of_classes(found)
    yield from _of_moisture(found)
    yield from _of_coating(found)


def _of_edge(edge: str) -> Iterator[Reason]:
    if edge == "hairline":
        yield Reason("Hairline gap at the edge", PRACTICE)
    elif edge == "open":
        yield Reason("Open joint at the edge", PRACTICE, halves=True)
    elif edge in _EDGE_WORDS:
        yield Reason(_EDGE_WORDS[edge], PRACTICE, halves=True, within_months=_EDGE_MONTHS)


def _of_classes(found: LookFound) -> Iterator[Reason]:
    if found.urgency in _URGENT_MONTHS:
        words = f"Urgency {found.urgency}, {URGENCY_WORDS[found.urgency]}"
        yield Reason(words, PRACTICE, within_months=_URGENT_MONTHS[found.urgency])
    if found.condition in {"CC2", "CC3"}:
        words = f"{CONDITION} {found.condition}, {CONDITION_WORDS[found.condition]}"
        months = _MAJOR_MONTHS if found.condition == "CC3" else None
        yield Reason(words, PRACTICE, halves=True, within_months=months)


def _of_moisture(found: LookFound) -> Iterator[Reason]:
    if found.over_range:
        yield Reason("Moisture above what a meter can tell", LIMIT_SOURCE, halves=True)
    elif found.moisture_pct is not None and found.moisture_pct >= LIMIT_PCT:
        yield Reason(f"Moisture {in_figures(found.moisture_pct)} %", LIMIT_SOURCE, halves=True)


def _of_coating(found: LookFound) -> Iterator[Reason]:
    worst = found.coating
    if worst is not None and worst.rating >= WORN_CLASS:
        yield Reason(f"{worst.name} {in_figures(worst.rating)}, ISO 4628", PRACTICE, halves=True)
    if found.cross_cut is not None and found.cross_cut >= LOOSE_CLASS:
        yield Reason(f"Cross-cut {in_figures(found.cross_cut)}, ISO 2409", PRACTICE, halves=True)


def _misfit(found: LookFound, acting: list[Reason]) -> str:
    if found.result != "sound" or not acting:
        return ""
    facts = ", ".join(reason.words[0].lower() + reason.words[1:] for reason in acting[:3])
    return (
        f"It is recorded as sound, and with it: {facts}. The two do not fit; the next date follows "
        "what was found. Name another day, with a reason, if that is wrong."
    )


def in_figures(figure: Decimal) -> str:
    """'3' or '2.5': no nought behind the point."""
    return f"{figure.normalize():f}"


def at_latest(step: NextStep, usual: NextStep, looked_on: date, verdict: Verdict) -> NextStep:
    """A step brought forward to the months that the facts allow, if it lies beyond. It stays the
    one answered, so that a sound look then returns to the series."""
    if verdict.within_months is None:
        return step
    latest = add_months(looked_on, verdict.within_months)
    if latest >= step.due_on:
        return step
    return NextStep(max(usual.step - 1, 0), latest, usual.counted_from)


def because(verdict: Verdict, by_rule: str) -> str:
    """Why a date stands where it does: what was found, the strictest first, then the rule; as
    many of the reasons as fit."""
    rule = by_rule.strip().rstrip(".")
    for count in range(len(verdict.reasons), 0, -1):
        told = ". ".join(filter(None, [*_with_sources(verdict.reasons[:count]), rule]))
        if len(told) <= SET_BECAUSE_LONGEST:
            return told
    return whole_sentences(*_with_sources(verdict.reasons[:1]), rule)


def _with_sources(reasons: Sequence[Reason]) -> list[str]:
    """Each as a sentence; a source that several share stands once, after the last of them."""
    last = {reason.source: at for at, reason in enumerate(reasons)}
    return [
        f"{reason.words}: {reason.asks}" + (f" ({reason.source})" if at in last.values() else "")
        for at, reason in enumerate(reasons)
    ]


def whole_sentences(*sentences: str, longest: int = SET_BECAUSE_LONGEST) -> str:
    """Those of the sentences, in their order, that fit; what does not is left out as a whole."""
    told = ""
    for sentence in filter(None, (each.strip().rstrip(".") for each in sentences)):
        longer = f"{told}. {sentence}" if told else sentence
        if len(longer) <= longest:
            told = longer
    return told

"""What the crew looks at before each stage, with the limit and room to write what was found.

The limits are those that the logged repair is judged by."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from properties.models import Defect
from repairs.logbook.facts import sheet_facts
from repairs.models import Stage
from repairs.plans.figure_words import Words, moment
from repairs.plans.prepared import PreparedStage
from repairs.remarks.limits import DEFAULT_LIMITS
from repairs.remarks.waiting_rules import COATING, ON_RESIN
from repairs.remarks.weather_rules import LAID_ON
from repairs.remarks.words import number
from repairs.weather_hours import WorkLimits, limits_for


@dataclass(frozen=True)
class Check:
    """`unit` is that of a figure to write down; empty where a tick is enough."""

    words: str
    unit: str = ""


def checks_of(
    stage: PreparedStage, below: Sequence[PreparedStage], defect: Defect, words: Words
) -> tuple[Check, ...]:
    """Of one stage, with the stages before it that lay something on, in order."""
    return tuple(_checks(stage, below, defect, words))


def _checks(
    stage: PreparedStage, below: Sequence[PreparedStage], defect: Defect, words: Words
) -> Iterator[Check]:
    kind = stage.row.kind
    resins = [each for each in below if each.sheet and sheet_facts(each.sheet).is_resin]
    if kind == Stage.Kind.OPEN_UP:
        yield from _cause(defect)
    if kind == Stage.Kind.DRY:
        yield Check("Wood moisture at the start and at the end", "%")
    if resins and (kind == Stage.Kind.SHAPE or kind in COATING):
        yield Check("The resin is hard: a thumbnail leaves no dent in it or in the kept sample")
    if kind in ON_RESIN | COATING:
        yield from _window(below)
    if kind in LAID_ON:
        yield from _weather(stage, words)


def _cause(defect: Defect) -> Iterator[Check]:
    if defect.cause_state == Defect.CauseState.PUT_RIGHT:
        return
    cause = defect.get_cause_display().lower()
    if defect.cause == Defect.Cause.UNKNOWN:
        cause = "not yet found; look for it"
    yield Check(f"The cause is put right ({cause}); else the repair is temporary")
    yield Check("Decay cut back to sound wood on all sides")


def _window(below: Sequence[PreparedStage]) -> Iterator[Check]:
    last = below[-1].days if below else None
    if last is not None and last.window_closes_at is not None:
        yield Check(
            f"Laid on by {moment(last.window_closes_at)}; later than that, wash and abrade first"
        )


def _weather(stage: PreparedStage, words: Words) -> Iterator[Check]:
    facts = [sheet_facts(stage.sheet)] if stage.sheet else []
    limits = limits_for(stage.row.kind, *facts)
    own = stage.sheet.wood_moisture_max_pct if stage.sheet else None
    moisture = DEFAULT_LIMITS["moisture_hold_pct"].value if own is None else own
    yield Check(f"Wood moisture, at most {number(moisture)} %", "%")
    yield Check(words.sentence(f"Air{_between(limits)}"), _degrees(words))
    if limits.dew_margin_k is not None:
        margin = words.kelvin(Decimal(str(limits.dew_margin_k)))
        yield Check(f"Surface, at least {margin} above the dew point", _degrees(words))
    if limits.humidity_max_pct is not None:
        yield Check(f"Humidity, at most {number(limits.humidity_max_pct)} %", "%")
    if limits.night_low_c is not None:
        low = words.heat(limits.night_low_c)
        yield Check(f"No colder than {low} in the night after", _degrees(words))
    yield Check(f"No rain for {limits.dry_before_h:g} h before and {limits.dry_after_h:g} h after")


def _between(limits: WorkLimits) -> str:
    if limits.min_c is not None and limits.max_c is not None:
        return f", {_celsius(limits.min_c)} to {_celsius(limits.max_c)}"
    if limits.min_c is not None:
        return f", at least {_celsius(limits.min_c)}"
    return "" if limits.max_c is None else f", at most {_celsius(limits.max_c)}"


def _celsius(value: Decimal) -> str:
    return f"{number(value)} °C"


def _degrees(words: Words) -> str:
    return words.heat(Decimal(0)).split()[-1]

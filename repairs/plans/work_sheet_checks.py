"""What the crew looks at before each stage, with its limit and room to write what was found.

The limits are those that the logged repair is judged by."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from properties.models import Defect
from repairs.logbook.facts import sheet_facts
from repairs.models import Stage
from repairs.plans.figure_words import Words
from repairs.plans.prepared import PreparedStage
from repairs.remarks.sheet_limits import wettest_wood
from repairs.remarks.waiting_rules import COATING, ON_RESIN
from repairs.remarks.weather_rules import LAID_ON
from repairs.remarks.words import number
from repairs.weather_hours import limits_for


@dataclass(frozen=True)
class Measure:
    """One figure to read and write down: its limit in words, empty where there is none."""

    asked: bool
    limit: str = ""


@dataclass(frozen=True)
class Measures:
    """What is measured before a stage; `rain` says for how long it is to be dry
    before and after."""

    moisture: Measure
    air: Measure
    surface: Measure
    humidity: Measure
    rain: str = ""

    def all(self) -> tuple[Measure, ...]:
        return self.moisture, self.air, self.surface, self.humidity


NOT_ASKED = Measure(False)
NOTHING = Measures(NOT_ASKED, NOT_ASKED, NOT_ASKED, NOT_ASKED)


def briefly(at: datetime) -> str:
    """Without the year, which stands at the top of the sheet."""
    return f"{at.day} {at:%b, %H:%M}"


def measures_of(stage: PreparedStage, words: Words) -> Measures:
    kind = stage.row.kind
    if kind == Stage.Kind.DRY:
        return Measures(Measure(True), NOT_ASKED, NOT_ASKED, NOT_ASKED)
    if kind not in LAID_ON:
        return NOTHING
    sheets = [sheet_facts(stage.sheet)] if stage.sheet else []
    limits, (moisture, _) = limits_for(kind, *sheets), wettest_wood(sheets)
    humidity = limits.humidity_max_pct
    margin = Decimal(str(limits.dew_margin_k))
    air = _between(limits.min_c, limits.max_c)
    if limits.night_low_c is not None:
        air = f"{air}; night {_celsius(limits.night_low_c)}" if air else ""
    return Measures(
        Measure(True, f"up to {number(moisture)} %"),
        Measure(True, words.sentence(air)),
        Measure(True, words.sentence(f"{_celsius(margin)} above")),
        NOT_ASKED if humidity is None else Measure(True, f"up to {number(humidity)} %"),
        f"{limits.dry_before_h:g} h, {limits.dry_after_h:g} h",
    )


def ticks_of(
    stage: PreparedStage, below: Sequence[PreparedStage], defect: Defect
) -> tuple[str, ...]:
    """What is to be so before a stage, with the stages before it that laid something on."""
    return tuple(_ticks(stage.row.kind, below, defect))


def _ticks(kind: str, below: Sequence[PreparedStage], defect: Defect) -> Iterator[str]:
    if kind == Stage.Kind.OPEN_UP:
        yield from _cause(defect)
        yield "Decay cut back to sound wood on all sides"
    resin = bool(below and below[-1].sheet and sheet_facts(below[-1].sheet).is_resin)
    if resin and (kind == Stage.Kind.SHAPE or kind in COATING):
        yield "The resin is hard: a thumbnail leaves no dent"
    last = below[-1].days if below and kind in ON_RESIN | COATING else None
    if last is not None and last.window_closes_at is not None:
        yield f"Laid on by {briefly(last.window_closes_at)}, else wash and abrade"


def _cause(defect: Defect) -> Iterator[str]:
    if defect.cause_state == Defect.CauseState.PUT_RIGHT:
        return
    cause = defect.get_cause_display().lower()
    if defect.cause == Defect.Cause.UNKNOWN:
        cause = "not yet found: look for it"
    yield f"The cause is put right ({cause}); else the repair is only temporary"


def _between(low: Decimal | None, high: Decimal | None) -> str:
    if low is not None and high is not None:
        return f"{_celsius(low)} to {_celsius(high)}"
    if low is not None:
        return f"from {_celsius(low)}"
    return "" if high is None else f"up to {_celsius(high)}"


def _celsius(value: Decimal) -> str:
    return f"{number(value)} °C"

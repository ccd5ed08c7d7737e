"""When each stage of a plan may begin, in the air there will be, and when the repair is ready.

How long a stage takes to do is not known: the next counts from when this one begins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time, timedelta
from functools import partial

from properties.models import Property
from repairs.cure_series import CureBand, cure_over, window_over
from repairs.curing import RecoatWindow, cure_ready_at, recoat_window
from repairs.models import Stage
from repairs.plans.air import PlannedAir
from repairs.plans.prepared import StageDays
from repairs.plans.reached import reached
from repairs.remarks import SheetFacts
from repairs.remarks.waiting_rules import COATING, ON_RESIN
from repairs.remarks.weather_rules import LAID_ON
from repairs.remarks.words import instant, stage
from repairs.weather_hours import WORKS_FROM, WORKS_TO, Allowed, allowed, limits_for

HOUR = timedelta(hours=1)
STEP = timedelta(minutes=5)
NO_FORECAST = Allowed((), None, {})
MOST_REASONS = 3


@dataclass(frozen=True)
class PlannedWork:
    """A stage as the time line needs it; `layers` counts layers or coats."""

    kind: str
    sheet: SheetFacts | None
    layers: int


@dataclass(frozen=True)
class _Laid:
    """What one stage has laid: when the last of it went on, and what follows from that."""

    at: datetime
    sheet: SheetFacts
    cure: CureBand | None
    window: RecoatWindow

    @property
    def next_at(self) -> datetime | None:
        """When another layer may go on: once the recoat window opens; where the sheet gives none,
        once it has cured; at once where it is silent. None where it stands still."""
        if self.sheet.recoat_from is not None:
            return self.window.opens_at
        if self.sheet.recoat_to is not None or self.cure is None:
            return self.at
        return self.cure.ready_at

    @property
    def cured_at(self) -> datetime | None:
        return self.cure.ready_at if self.cure else None


@dataclass
class _Line:
    """The time line as it grows: the earliest moment, and what lies below."""

    earliest: datetime | None
    starts: datetime
    why: str = "The work can start."
    laid: list[_Laid] = field(default_factory=list)


def days_of(
    work: Sequence[PlannedWork], starts_at: datetime, air: PlannedAir, place: Property
) -> tuple[StageDays, ...]:
    """The stages one after the other, each as soon as what lies below it and the weather allow."""
    starts = starts_at.astimezone(place.zone)
    line = _Line(starts, starts)
    return tuple(_stage(each, line, air) for each in work)


def ready_at(days: Sequence[StageDays]) -> datetime | None:
    """When all is done and cured; None while one stage cannot be told."""
    if not days or any(each.begins_at is None for each in days):
        return None
    cures = [each.cure.ready_at for each in days if each.cure]
    ends = [*cures, *(each.begins_at for each in days)]
    known = [end for end in ends if end is not None]
    return max(known, key=_utc) if len(known) == len(ends) else None


def _stage(work: PlannedWork, line: _Line, air: PlannedAir) -> StageDays:
    earliest, why = _earliest(work, line)
    hours = _hours(work, air)
    told = StageDays(None, why, allowed=hours.spans, refused=hours.refused, notes=hours.notes)
    if earliest is None:
        line.earliest, line.why = None, why
        return told
    typed = not air.hours and _utc(earliest) == _utc(line.starts)
    begins, waits = (earliest, "") if typed else _workable(earliest, hours, air)
    if begins is None:
        line.earliest, line.why = None, f"{stage(work.kind)} cannot be told a day."
        return replace(told, why=waits)
    line.earliest, line.why = begins, f"{stage(work.kind)} comes first."
    told = replace(told, begins_at=begins, why=waits or why)
    if work.sheet is None or work.kind not in LAID_ON:
        return told
    layers, laid = _lay(work, work.sheet, begins, hours, air)
    line.laid.append(laid)
    return replace(
        told,
        window_opens_at=laid.window.opens_at,
        window_closes_at=laid.window.closes_at,
        cure=laid.cure,
        layers=layers,
    )


def _lay(
    work: PlannedWork,
    sheet: SheetFacts,
    begins: datetime,
    hours: Allowed,
    air: PlannedAir,
) -> tuple[tuple[datetime, ...], _Laid]:
    """The moments at which the layers go on, and the last of them as it lies."""
    moments = [begins]
    laid = _laid(sheet, begins, air)
    while len(moments) < work.layers and laid.next_at is not None:
        following, _ = _workable(laid.next_at, hours, air)
        if following is None:
            break
        moments.append(following)
        laid = _laid(sheet, following, air)
    return tuple(moments), laid


def _laid(sheet: SheetFacts, at: datetime, air: PlannedAir) -> _Laid:
    return _Laid(at, sheet, cure_of(sheet, at, air), window_of(sheet, at, air))


# What must be waited for


def _earliest(work: PlannedWork, line: _Line) -> tuple[datetime | None, str]:
    """The first moment that what lies below allows, and the sentence that says why."""
    if line.earliest is None:
        return None, line.why
    moments: list[tuple[datetime | None, str]] = [(line.earliest, line.why)]
    resins = [laid for laid in line.laid if laid.sheet.is_resin]
    topmost = line.laid[-1] if line.laid else None
    if work.kind == Stage.Kind.SHAPE or work.kind in COATING:
        moments += [(laid.cured_at, _cured(laid)) for laid in resins if laid.sheet.cure_time]
    if (
        work.kind in ON_RESIN | COATING
        and topmost is not None
        and not (work.kind in COATING and topmost in resins and topmost.sheet.cure_time)
    ):
        moments.append((topmost.next_at, _opens(topmost)))
    for moment, why in moments:
        if moment is None:
            return None, why
    known = [(moment, why) for moment, why in moments if moment is not None]
    return max(known, key=lambda pair: _utc(pair[0]))


def _cured(laid: _Laid) -> str:
    name = laid.sheet.product
    if laid.cured_at is None:
        return f"{name} does not cure in that air."
    return f"After {name} has cured, {instant(laid.cured_at)}."


def _opens(laid: _Laid) -> str:
    name = laid.sheet.product
    if laid.next_at is None:
        return f"When {name} may be laid over cannot be told in that air."
    if laid.sheet.recoat_from is None:
        return _cured(laid) if laid.cure else f"{name} lies below; its sheet gives no times."
    return f"From when {name} may be laid over, {instant(laid.next_at)}."


def cure_of(sheet: SheetFacts, at: datetime, air: PlannedAir) -> CureBand | None:
    """Full cure of a layer mixed at a moment; by the sheet alone where no air is known. None
    where the sheet is silent."""
    if sheet.cure_time is None:
        return None
    band = None
    if air.series is not None and sheet.cure_at_c is not None:
        band, _ = reached(
            partial(
                cure_over,
                at,
                sheet.cure_time,
                float(sheet.cure_at_c),
                air.series,
                minimum_c=_float(sheet.apply_min_c),
                activation_kj_mol=_float(sheet.activation_energy_kj_mol),
            )
        )
    if band is not None:
        return band
    alone = cure_ready_at(at, sheet.cure_time, None, None)
    hours = sheet.cure_time / HOUR
    return CureBand(alone.ready_at, None, None, None, 0.0, hours, alone.basis)


def window_of(sheet: SheetFacts, at: datetime, air: PlannedAir) -> RecoatWindow:
    window = None
    if air.series is not None and sheet.cure_at_c is not None:
        window, _ = reached(
            partial(
                window_over,
                at,
                sheet.recoat_from,
                sheet.recoat_to,
                float(sheet.cure_at_c),
                air.series,
                minimum_c=_float(sheet.apply_min_c),
                activation_kj_mol=_float(sheet.activation_energy_kj_mol),
            )
        )
    return window or recoat_window(at, sheet.recoat_from, sheet.recoat_to)


# Hours in which one works


def _hours(work: PlannedWork, air: PlannedAir) -> Allowed:
    sheets = (work.sheet,) if work.sheet else ()
    return allowed(air.hours, limits_for(work.kind, *sheets)) if air.hours else NO_FORECAST


def _workable(earliest: datetime, hours: Allowed, air: PlannedAir) -> tuple[datetime | None, str]:
    """The first moment from then on in which one works: by the forecast as far as it reaches,
    beyond it in the hours of a working day. The sentence says what it waits for, if anything."""
    wanted = _rounded_up(earliest)
    if not air.hours or _utc(wanted) >= _utc(air.hours[-1].at) + HOUR:
        begins = _working_hour(wanted)
        waits = f"Waits for working hours, {WORKS_FROM}:00 to {WORKS_TO}:00."
        return begins, waits if begins != wanted else ""
    for span in hours.spans:
        if _utc(wanted) < _utc(span.ends):
            begins = max(wanted, span.begins, key=_utc)
            waits = "Waits for an hour that the forecast allows."
            return begins, waits if begins != wanted else ""
    reasons = ", ".join(list(hours.refused)[:MOST_REASONS])
    return None, f"No hour of the forecast allows it from {instant(wanted)} on: {reasons}."


def _rounded_up(at: datetime) -> datetime:
    """To the next five minutes: nobody begins at a second."""
    past = timedelta(minutes=at.minute % 5, seconds=at.second, microseconds=at.microsecond)
    return (at.astimezone(UTC) + (STEP - past if past else past)).astimezone(at.tzinfo)


def _working_hour(at: datetime) -> datetime:
    """The moment itself between 7:00 and 19:00 by its clock, else the next morning at 7:00."""
    if WORKS_FROM <= at.hour < WORKS_TO:
        return at
    day = at.date() + timedelta(days=int(at.hour >= WORKS_TO))
    return datetime.combine(day, time(WORKS_FROM), tzinfo=at.tzinfo)


def _float(number: object) -> float | None:
    return None if number is None else float(str(number))


def _utc(at: datetime) -> datetime:
    return at.astimezone(UTC)

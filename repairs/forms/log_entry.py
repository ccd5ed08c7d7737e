"""From the cleaned blocks of the page to one `RepairEntry`, or to errors beside their fields."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypeVar
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError

from repairs.logbook.entry import (
    BatchEntry,
    EarlierBatchEntry,
    PartEntry,
    RepairEntry,
    StageEntry,
)
from repairs.models import Batch

from .log_batch import BatchForm
from .log_money import CostForm, LabourForm
from .log_stage import StageForm, StageTimes, stage_times
from .log_times import day_of, instant
from .log_what import NewDefectForm, RepairForm

if TYPE_CHECKING:
    from .log_page import LogPage

Form = TypeVar("Form", LabourForm, CostForm, BatchForm, NewDefectForm)


@dataclass
class Placed:
    """The entry, and which form each of its stages and batches came from."""

    entry: RepairEntry | None = None
    stages: list[StageForm] = field(default_factory=list)
    batches: list[list[BatchForm]] = field(default_factory=list)


def assemble(page: LogPage, at: datetime, reasons: dict[str, str]) -> Placed:
    """No entry if anything cannot be read; each error then stands beside its field."""
    placed = Placed()
    page.known.read_for_booking()
    member = page.member
    zone = member.building.property.zone if member else ZoneInfo("UTC")
    stages = _stages(page, placed, at.astimezone(zone).date(), zone)
    labour, costs = _counting(page.labour), _counting(page.costs)
    new_defect = next(iter(_counting([page.new_defect])), None)
    forms = [page.repair, *labour, *costs, page.rates, *([new_defect] if new_defect else [])]
    wrong = [form for form in forms if not form.is_valid()]
    if not stages and not page.stage_errors():
        page.say("Say what was done: fill in at least one stage.")
    if member is None or wrong or page.has_errors():
        return placed
    began_at = min(stage.began_at for stage in stages)
    finished = page.repair.cleaned_data["finished"]
    found_on = began_at.astimezone(zone).date()
    placed.entry = RepairEntry(
        member=member,
        ended_at=_last_instant(stages) if finished else None,
        finished=finished,
        stages=tuple(stages),
        new_defect=new_defect.entry(found_on) if new_defect else None,
        labour=tuple(form.entry() for form in labour),
        costs=tuple(form.entry() for form in costs),
        rates=page.rates.rates(),
        reasons=reasons,
        submission=page.key,
        plan=page.plan,
        **_what(page.repair, began_at),
        **_notes(page.repair),
    )
    return placed


def _what(form: RepairForm, began_at: datetime) -> dict[str, Any]:
    """What was repaired: as typed, or as recorded when the repair that goes on was begun."""
    repair, what = form.continues, form.cleaned_data
    if repair is not None:
        same = ("zone", "kind", "temporary", "relation", "follows", "began_at")
        return {
            **{name: getattr(repair, name) for name in same},
            "defects": tuple(repair.defects.all()),
            "continues": repair,
        }
    return {
        **{name: what[name] for name in ("zone", "kind", "temporary")},
        "relation": what["relation"].kind,
        "follows": what["relation"].follows,
        "defects": tuple(what["defects"]),
        "began_at": began_at,
    }


def _counting(forms: list[Form]) -> list[Form]:
    """Those that say something; the others are left as they are."""
    for form in forms:
        if not form.counts():
            form.hush()
    return [form for form in forms if not form.quiet]


def _notes(form: RepairForm) -> dict[str, Any]:
    added = {name: _added_to(form, name) for name in ("engineer_note", "lead_note", "notes")}
    extra = {"next_look_on": form.cleaned_data["next_look_on"]}
    if borne_by := form.cleaned_data["borne_by"]:
        extra["borne_by"] = borne_by
    return {"done_by": form.cleaned_data["done_by"], **added, **extra}


def _added_to(form: RepairForm, name: str) -> str:
    """A note of today below what the repair that goes on says already."""
    before = getattr(form.continues, name) if form.continues else ""
    return "\n\n".join(text for text in (before, form.cleaned_data[name]) if text)


def _last_instant(stages: list[StageEntry]) -> datetime:
    instants = [
        instant
        for stage in stages
        for instant in (
            stage.began_at,
            stage.ended_at,
            *(batch.applied_at or batch.mixed_at for batch in stage.batches),
        )
    ]
    return max(instant for instant in instants if instant)


def _stages(page: LogPage, placed: Placed, today: date, zone: ZoneInfo) -> list[StageEntry]:
    entries = []
    day: date | None = None
    for form in page.stages:
        if not form.counts():
            # The first stage's day was set out for all; it stands even if the stage was not done.
            form.is_valid()
            day = day or form.cleaned_data.get("on")
            form.hush()
            _counting(form.batches)
            continue
        form.is_valid()
        unclear = any(earlier.has_error("on") for earlier in placed.stages)
        times = stage_times(form, day, today, zone, day_unclear=unclear)
        day = times.day if times else day
        batches = _counting(form.batches)
        made = [_batch(batch, form, times, zone) for batch in batches]
        entry = _stage(form, times, [one for one in made if one], zone)
        if entry and not form.errors:
            entries.append(entry)
        placed.stages.append(form)
        placed.batches.append(batches)
    return entries


def _stage(
    form: StageForm, times: StageTimes | None, batches: list[BatchEntry], zone: ZoneInfo
) -> StageEntry | None:
    if times is None:
        return None
    began = times.began_at or min((batch.mixed_at for batch in batches), default=None)
    if began is None:
        if not any(batch.errors for batch in form.batches):
            form.add_error("at", "Type the time at which it began.")
        return None
    if times.ended_at and times.ended_at < began:
        form.add_error("until", "The stage ends before it begins.")
        return None
    cleaned = form.cleaned_data
    earlier: tuple[EarlierBatchEntry, ...] = ()
    if cleaned.get("earlier") and cleaned.get("earlier_amount"):
        earlier = (EarlierBatchEntry(cleaned["earlier"], cleaned["earlier_amount"]),)
    return StageEntry(
        kind=cleaned.get("kind", ""),
        began_at=began,
        ended_at=times.ended_at,
        thickness_mm=cleaned.get("thickness"),
        air_c=cleaned.get("air_c"),
        surface_c=cleaned.get("surface_c"),
        humidity_pct=cleaned.get("humidity_pct"),
        moisture_pct=cleaned.get("moisture_pct"),
        washed_and_abraded=cleaned.get("washed_and_abraded"),
        notes=cleaned.get("notes", ""),
        batches=tuple(batches),
        earlier_batches=earlier,
    )


def _batch(
    form: BatchForm, stage: StageForm, times: StageTimes | None, zone: ZoneInfo
) -> BatchEntry | None:
    if not form.is_valid() or times is None:
        return None
    cleaned = form.cleaned_data
    sheet = cleaned["lot"].product.sheet_on(times.day)
    if sheet is None:
        form.add_error(
            "lot",
            f"No data sheet of {cleaned['lot'].product.name} is kept, so its mix cannot be "
            "judged. Keep this as a draft, and enter the sheet's figures under Stores first.",
        )
        return None
    try:
        parts = form.parts(sheet)
        lot = parts[0].lot
        small = {
            name: form.in_unit_of(lot, name, sheet) if cleaned[name] else None
            for name in ("waste", "left_over")
        }
        mixed_at, applied_at = _batch_times(form, stage, times, zone)
    except ValidationError as error:
        form.add_error(None, error)
        return None
    return BatchEntry(
        sheet=sheet,
        basis=_basis(parts),
        typed=form.typed("amount"),
        parts=parts,
        mixed_at=mixed_at,
        applied_at=applied_at,
        abandoned=cleaned["abandoned"],
        notes=cleaned["notes"],
        **small,
        **_weather(form, stage),
    )


def _basis(parts: tuple[PartEntry, ...]) -> str:
    if any(part.kit_fraction is not None for part in parts):
        return Batch.Basis.KIT
    return Batch.Basis.VOLUME if parts[0].lot.unit == "ml" else Batch.Basis.WEIGHT


def _weather(form: BatchForm, stage: StageForm) -> dict[str, Decimal | None]:
    """Measured once for the stage, unless a batch has its own figure."""
    names = ("air_c", "surface_c", "humidity_pct")
    own = {name: form.cleaned_data.get(name) for name in names}
    return {n: own[n] if own[n] is not None else stage.cleaned_data.get(n) for n in names}


def _batch_times(
    form: BatchForm, stage: StageForm, times: StageTimes, zone: ZoneInfo
) -> tuple[datetime, datetime | None]:
    began: time | None = stage.cleaned_data.get("at")
    again = form.cleaned_data.get("again", "") or stage.cleaned_data.get("again", "")
    mixed: time | None = form.cleaned_data["mixed"] or began
    if mixed is None:
        raise ValidationError({"mixed": "Type the time at which it was mixed."})
    used: time | None = form.cleaned_data["used"]
    mixed_day = day_of(mixed, times.day, began)
    try:
        field = "mixed"
        mixed_at = instant(mixed_day, mixed, zone, again)
        field = "used"
        applied_at = None
        if used is not None:
            later = "second" if mixed_at > instant(mixed_day, mixed, zone, "first") else again
            applied_at = instant(day_of(used, mixed_day, mixed), used, zone, later)
            if applied_at < mixed_at:
                raise ValidationError("It was used before it was mixed.", code="used-before")
    except ValidationError as error:
        raise ValidationError({field: error}) from error
    if times.began_at and mixed_at < times.began_at:
        raise ValidationError({"mixed": "It was mixed before the stage began."})
    return mixed_at, applied_at

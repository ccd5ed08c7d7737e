"""From a filled form to the unsaved rows of one look."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, time

from properties.models import Defect, MoistureReading
from properties.moisture import correct
from repairs.due.schedule import NextLook
from repairs.forms.inspections import InspectionForm
from repairs.looks.ratings import SIZES
from repairs.looks.record import InspectionEntry
from repairs.models import DraftPhotograph, Inspection, Photograph
from repairs.photograph_files import taken_at

NOON = time(12, 0)


def inspection_entry(
    form: InspectionForm, held: Sequence[DraftPhotograph], at: datetime, *, extra: bool
) -> InspectionEntry:
    """`extra` keeps the look without answering its due date."""
    typed = form.cleaned_data
    next_look = NextLook(typed["next_on"], typed["next_reason"]) if typed["next_on"] else None
    return InspectionEntry(
        inspection=_inspection(form, extra),
        moisture=_moisture(form, at),
        defect=_defect(form),
        photographs=tuple(_photograph(form, each) for each in held),
        next_look=next_look,
    )


def looker(form: InspectionForm) -> str:
    person = form.cleaned_data["looked_by"]
    if person is None:
        return str(form.cleaned_data["looked_by_name"])
    return str(person.get_full_name() or person.get_username())


def _inspection(form: InspectionForm, extra: bool) -> Inspection:
    typed = form.cleaned_data
    ratings = {name: form.rating(name) for name in Inspection.RATINGS}
    return Inspection(
        member=form.subject.member,
        zone=typed["zone"],
        repair=form.subject.repair,
        due=None if extra else typed["due"],
        occasion=typed["occasion"],
        looked_on=typed["looked_on"],
        looked_by=typed["looked_by"],
        looked_by_name=looker(form),
        **{name: typed[name] for name in SIZES},
        not_applicable=form.not_applicable(),
        edge=typed.get("edge", ""),
        condition=typed["condition"],
        urgency=typed["urgency"],
        result=typed["result"],
        notes=typed["notes"],
        submission=typed["key"],
        **ratings,
    )


def _moisture(form: InspectionForm, at: datetime) -> MoistureReading | None:
    typed = form.cleaned_data
    if typed["moisture_pct"] is None:
        return None
    meter = typed["meter"] or MoistureReading.Meter.UNKNOWN
    treated = typed["treated"] or "unknown"
    corrected = correct(typed["moisture_pct"], wood_c=typed["wood_c"], treated=treated, meter=meter)
    return MoistureReading(
        member=form.subject.member,
        zone=typed["zone"],
        taken_at=_taken_at(form, at),
        taken_by=looker(form)[:120],
        raw_pct=typed["moisture_pct"],
        corrected_pct=corrected.pct,
        correction=corrected.basis[:300],
        meter=meter,
        wood_c=typed["wood_c"],
        treated=treated,
    )


def _taken_at(form: InspectionForm, at: datetime) -> datetime:
    """Now for a look of today; noon of an earlier day, whose hour nobody typed."""
    zone = form.subject.member.building.property.zone
    day = form.cleaned_data["looked_on"]
    if day == at.astimezone(zone).date():
        return at
    return datetime.combine(day, NOON, tzinfo=zone).astimezone(UTC)


def _defect(form: InspectionForm) -> Defect | None:
    typed = form.cleaned_data
    if typed["result"] != Inspection.Result.REDO:
        return None
    return Defect(
        member=form.subject.member,
        zone=typed["zone"],
        kind=typed["defect_kind"],
        found_on=typed["looked_on"],
        found_by=looker(form)[:120],
        cause=typed["defect_cause"] or Defect.Cause.UNKNOWN,
        cause_state=typed["defect_cause_state"] or Defect.CauseState.UNKNOWN,
        condition=typed["condition"],
        urgency=typed["urgency"],
        notes=typed["notes"],
    )


def _photograph(form: InspectionForm, held: DraftPhotograph) -> Photograph:
    zone = form.subject.member.building.property.zone
    return Photograph(
        member=form.subject.member,
        file=held.file.name,
        sha256=held.sha256,
        original_name=held.original_name,
        moment=held.moment,
        caption=held.caption,
        taken_at=taken_at(held.file, zone),
    )

"""What to know before anybody works on a member: load, strength, old paint. Drawn as remarks."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from properties.models import Defect, Elevation, Member
from properties.models.members import YesNoUnknown
from repairs.models import Stage
from repairs.remarks.limits import LEAD_CAUTION, LOAD_CAUTION, PRACTICE, cautions_for
from repairs.remarks.remark import Remark
from repairs.remarks.repair_rules import lead_ban, paint_presumed_leaded

MUCH_LOST = {Defect.SectionLoss.TO_50, Defect.SectionLoss.OVER_50}


def cautions_about(member: Member, defects: Sequence[Defect] = ()) -> list[Remark]:
    """The cautions of a member and of its open defects; reads its building and property."""
    found = [_strength(defects), _load(member), _lead(member)]
    return [caution for caution in found if caution]


def cautions_at_work(member: Member, stages: Collection[str]) -> tuple[str, ...]:
    """What to mind while the stages of a repair are done on a member."""
    place = member.building.property
    access = member.elevation.access if member.elevation else Elevation.Access.UNKNOWN
    return cautions_for(
        resin=not {Stage.Kind.SEAL, Stage.Kind.FILL}.isdisjoint(stages),
        old_paint=paint_presumed_leaded(
            member.presumed_paint_year(), place.lead_paint_ban_year, place.country
        ),
        load_bearing=member.load_bearing,
        at_height=access not in {Elevation.Access.GROUND, Elevation.Access.UNKNOWN},
        dust=not {Stage.Kind.OPEN_UP, Stage.Kind.SHAPE}.isdisjoint(stages),
    )


def _load(member: Member) -> Remark | None:
    if member.load_bearing == YesNoUnknown.NO:
        return None
    said = (
        f"{member.mark} carries load."
        if member.load_bearing == YesNoUnknown.YES
        else f"Nobody has recorded whether {member.mark} carries load."
    )
    return Remark("carries-load", "warning", said, "", PRACTICE, LOAD_CAUTION)


def _strength(defects: Sequence[Defect]) -> Remark | None:
    for defect in defects:
        doubted = defect.structural_concern == YesNoUnknown.YES or defect.section_loss in MUCH_LOST
        if defect.is_outstanding() and doubted:
            return Remark(
                "strength-in-doubt",
                "stop",
                f"{defect}: its strength is in doubt.",
                "20 % of the section lost, or any doubt about strength",
                PRACTICE,
                "Keep people and loads off it, and ask a structural engineer before anything is "
                "cut or filled.",
            )
    return None


def _lead(member: Member) -> Remark | None:
    if "oldest_paint_year" in member.not_applicable or member.finish == Member.Finish.NONE:
        return None
    of = member.building.property
    year = member.presumed_paint_year()
    if not paint_presumed_leaded(year, of.lead_paint_ban_year, of.country):
        return None
    ban = lead_ban(of.lead_paint_ban_year, of.country)
    said = (
        "The year of its oldest paint is not recorded."
        if year is None
        else f"Its oldest paint may be from {year}."
    )
    return Remark(
        "old-paint", "warning", said, f"lead paint banned in {ban.value}", ban.source, LEAD_CAUTION
    )

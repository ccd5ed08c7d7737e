"""What a history does not know, counted, so that a reader can weigh what it does know."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from .dossier import Dossier


@dataclass(frozen=True)
class Gap:
    what: str
    missing: int
    of: int


def gaps(dossier: Dossier) -> list[Gap]:
    """Only what is missing at least once, in the order of the document."""
    members = [member for each in dossier.buildings for member in each.members]
    repairs = [repair for member in members for repair in member.repairs]
    buildings = [each.building for each in dossier.buildings]
    elevations = [elevation for each in dossier.buildings for elevation in each.elevations]
    found = [
        Gap("Buildings: year built", sum(b.year_built is None for b in buildings), len(buildings)),
        Gap("Elevations: bearing", sum(e.bearing_deg is None for e in elevations), len(elevations)),
        *_counted("Members", (member.unknown for member in members), len(members)),
        *_counted("Repairs", (repair.lacks for repair in repairs), len(repairs)),
        Gap("Repairs: sign-off", sum(not r.sign_offs for r in repairs), len(repairs)),
    ]
    return [gap for gap in found if gap.missing]


def _counted(whose: str, lacks: Iterable[tuple[str, ...]], of: int) -> list[Gap]:
    counts = Counter(each for lacking in lacks for each in lacking)
    return [Gap(f"{whose}: {what}", missing, of) for what, missing in counts.most_common()]

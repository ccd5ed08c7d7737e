"""Work of one elevation that is worth doing from one scaffold, with what that saves."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from properties.models import Elevation, Property
from repairs.ahead.bundling import apart, bundles
from repairs.ahead.figures import Asked, MoveEffect
from repairs.ahead.ground import Ground
from repairs.ahead.moves import effects_if
from repairs.ahead.outlook import ground_of
from repairs.ahead.reckon import reckon
from repairs.ahead.works import ACCESS, FAILURES, LOOK
from repairs.models import WorkMove
from repairs.models.costs import CostLineQuerySet
from repairs.models.repairs import RepairQuerySet


def offers(
    property: Property,
    asked: Asked,
    told: CostLineQuerySet | None = None,
    record: RepairQuerySet | None = None,
) -> list[MoveEffect]:
    """Moves that a person may take up, what saves most first; their `move` is not saved. Only
    those that save visits of access, and that do not cost more over the asked years, are offered;
    where access has no price, they are ordered by visits."""
    ground = ground_of(property, asked, told, record)
    found = [
        effect
        for effect in effects_if(ground, list(_moves(ground, property)))
        if effect.access_visits_saved > 0 and (effect.saves is None or effect.saves.likely >= 0)
    ]
    return sorted(
        found,
        key=lambda each: (
            -(each.saves.likely if each.saves else 0),
            -each.access_visits_saved,
            str(each.move.elevation),
            each.move.to_year,
        ),
    )


def _moves(ground: Ground, property: Property) -> Iterator[WorkMove]:
    years = _years(ground)
    elevations = Elevation.objects.select_related("building__property").in_bulk(years)
    for face, jobs in sorted(years.items()):
        for bundle in apart(bundles(jobs)):
            yield WorkMove(
                property=property,
                elevation=elevations[face],
                kind=WorkMove.Kind.BOTH,
                first_year=bundle.first,
                last_year=bundle.last,
                to_year=bundle.year,
            )


def _years(ground: Ground) -> dict[int, Counter[int]]:
    """The dated repaints and repairs of each year, on elevations that need access."""
    work = reckon(ground, ground.rows.moves)
    with_access = set(work.face[work.kind == ACCESS].tolist())
    dated = work.only((work.kind != LOOK) & (work.kind != ACCESS) & (work.table != FAILURES))
    found: dict[int, Counter[int]] = defaultdict(Counter)
    for face, year in zip(dated.face.tolist(), dated.year.tolist(), strict=True):
        if face in with_access:
            found[face][year] += 1
    return found

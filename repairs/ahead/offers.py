"""Work of one elevation that is worth doing from one scaffold, with what that saves."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator

from properties.models import Elevation
from repairs.ahead.bundling import Bundle, apart, bundles
from repairs.ahead.figures import MoveEffect
from repairs.ahead.ground import Ground
from repairs.ahead.moves import effects_if
from repairs.ahead.reckon import reckon
from repairs.ahead.works import ACCESS, FAILURES, LOOK
from repairs.models import WorkMove

# The row that a job comes from, and its year.
DatedJob = tuple[tuple[int, int], int]


def offers(ground: Ground) -> list[MoveEffect]:
    """Moves that a person may take up, what saves most first; their `move` is not saved. Only
    those that save visits of access, and that do not cost more over the asked years, are offered;
    where access has no price, they are ordered by visits. Of the years that some work could be put
    in, that which saves most visits; of equals that to which the jobs move the least."""
    found: dict[tuple[int | None, int], MoveEffect] = {}
    for effect in effects_if(ground, list(_moves(ground))):
        key = (effect.move.elevation_id, effect.move.first_year)
        best = found[key].access_visits_saved if key in found else 0
        if effect.access_visits_saved > best and (effect.saves is None or effect.saves.likely >= 0):
            found[key] = effect
    return sorted(
        found.values(),
        key=lambda each: (
            -(each.saves.likely if each.saves else 0),
            -each.access_visits_saved,
            str(each.move.elevation),
            each.move.to_year,
        ),
    )


def _moves(ground: Ground) -> Iterator[WorkMove]:
    found = _jobs(ground)
    elevations = Elevation.objects.select_related("building__property").in_bulk(found)
    for face, jobs in sorted(found.items()):
        once = (each for each in bundles(Counter(year for _, year in jobs)) if _once(each, jobs))
        for bundle in apart(once):
            for year in bundle.years:
                yield WorkMove(
                    property=elevations[face].building.property,
                    elevation=elevations[face],
                    kind=WorkMove.Kind.BOTH,
                    first_year=bundle.first,
                    last_year=bundle.last,
                    to_year=year,
                )


def _once(bundle: Bundle, jobs: Collection[DatedJob]) -> bool:
    """Whether nothing comes round twice in the years of a bundle: put together, one of the two
    would be left out, and that is no saving."""
    inside = [source for source, year in jobs if bundle.first <= year <= bundle.last]
    return len(inside) == len(set(inside))


def _jobs(ground: Ground) -> dict[int, list[DatedJob]]:
    """The dated repaints and repairs of each elevation that needs access, each with its year."""
    work = reckon(ground, ground.rows.moves)
    with_access = set(work.face[work.kind == ACCESS].tolist())
    dated = work.only((work.kind != LOOK) & (work.kind != ACCESS) & (work.table != FAILURES))
    found: dict[int, list[DatedJob]] = defaultdict(list)
    columns = (dated.face, dated.table, dated.source, dated.year)
    for face, table, source, year in zip(*(each.tolist() for each in columns), strict=True):
        if face in with_access:
            found[face].append(((table, source), year))
    return found

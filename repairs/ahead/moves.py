"""What each move of work changes: reckoned with it and without, on the elevation that it is about,
since access is shared there and nowhere else."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from materials.money import show_money
from repairs.ahead.falls import NEVER, catches, moved_to
from repairs.ahead.figures import MoveEffect, PutOff
from repairs.ahead.ground import Ground
from repairs.ahead.jobs import Labels, labels_of
from repairs.ahead.lines import decimal_of
from repairs.ahead.money import Band
from repairs.ahead.occurrences import first_of, month_number
from repairs.ahead.reckon import Near, reckon
from repairs.ahead.risks import Risks
from repairs.ahead.works import ACCESS, DATES, FAILURES, KINDS, LOOK, REPAINT, REPAIR, Works
from repairs.models import WorkMove

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True)
class Caught:
    """One job that a move takes out of its year."""

    table: int
    source: int
    kind: int
    member: int
    from_year: int


@dataclass(frozen=True)
class Reckoned:
    """A move, the jobs that it catches, and what it saves; nothing is said of it yet. `painted`
    are the month and the member of each repaint with the move."""

    move: WorkMove
    caught: tuple[Caught, ...]
    painted: tuple[tuple[int, int], ...]
    saves: Band | None
    access_saves: Band | None
    visits: Decimal
    repaints: int


def effects_of(ground: Ground) -> tuple[MoveEffect, ...]:
    moves = ground.rows.moves
    return told(ground, [_reckoned(ground, move, moves) for move in moves])


def effects_if(ground: Ground, offered: Sequence[WorkMove]) -> tuple[MoveEffect, ...]:
    """Of moves that nobody has saved, each by itself beside those that are."""
    saved = ground.rows.moves
    return told(ground, [_reckoned(ground, move, [*saved, move]) for move in offered])


def told(ground: Ground, reckoned: Sequence[Reckoned]) -> tuple[MoveEffect, ...]:
    later = [job for each in reckoned for job in each.caught if job.from_year < each.move.to_year]
    labels = labels_of({job.member for job in later}, ())
    risks = Risks(ground, {job.member for job in later if job.kind == REPAINT})
    return tuple(
        MoveEffect(
            move=each.move,
            jobs=len(each.caught),
            saves=each.saves,
            access_visits_saved=each.visits,
            later=tuple(_put_off(each, labels, risks)),
            words=_words(each, ground.currency),
            access_saves=each.access_saves,
        )
        for each in reckoned
    )


def _reckoned(ground: Ground, move: WorkMove, moves: Sequence[WorkMove]) -> Reckoned:
    near = _near(move)
    others = [each for each in moves if each is not move]
    without, with_it = reckon(ground, others, near), reckon(ground, moves, near)
    caught = _all_caught(without, with_it, move, moves, ground)
    before, after = (works.only(works.kind != LOOK) for works in (without, with_it))
    access = [works.only(works.kind == ACCESS) for works in (before, after)]
    visits = [int(works.number.sum()) for works in access]
    repaints = [works.only(works.kind == REPAINT) for works in (before, after)]
    return Reckoned(
        move,
        caught,
        tuple(zip(repaints[1].month.tolist(), repaints[1].member.tolist(), strict=True)),
        _saving(before, after) if caught else None,
        _saving(*access) if caught else None,
        decimal_of(visits[0] - visits[1]),
        len(repaints[1].month) - len(repaints[0].month),
    )


def _saving(before: Works, after: Works) -> Band | None:
    if not ((before.priced == 1).any() or (after.priced == 1).any()):
        return None
    return _sum(before) - _sum(after)


def _near(move: WorkMove) -> Near:
    if move.elevation_id is not None:
        return Near(move.elevation_id, 0)
    assert move.member is not None
    return Near(move.member.elevation_id or 0, move.member.pk)


def _sum(works: Works) -> Band:
    return Band(int(works.low.sum()), int(works.likely.sum()), int(works.high.sum()))


def _caught(without: Works, move: WorkMove, ground: Ground) -> Iterator[Caught]:
    """Of each date the first that falls in the move's years: a move catches it once, and takes it
    back to no month in which the one before it falls, or beyond. What another move has moved
    already stays there."""
    import numpy as np

    chosen = without.only(_is_of(without, move) & (without.moved_from == 0))
    seen: set[tuple[int, int]] = set()
    before: dict[tuple[int, int], int] = {}
    for at in np.argsort(chosen.month, kind="stable").tolist():
        key, year = (int(chosen.table[at]), int(chosen.source[at])), int(chosen.year[at])
        month, earlier = int(chosen.month[at]), before.get(key, NEVER)
        before[key] = month
        to = month_number(moved_to(first_of(month), move.to_year, ground.asked))
        if key in seen or not catches(move, year, ground.asked) or to <= earlier:
            continue
        seen.add(key)
        if year != move.to_year:
            yield Caught(*key, int(chosen.kind[at]), int(chosen.member[at]), year)


def _all_caught(
    without: Works, with_it: Works, move: WorkMove, moves: Sequence[WorkMove], ground: Ground
) -> tuple[Caught, ...]:
    """What falls in its years; also what a later move would take were this one dropped."""
    caught = {(each.table, each.source): each for each in _caught(without, move, ground)}
    for each in _moved_by(with_it, move, moves, ground):
        caught.setdefault((each.table, each.source), each)
    return tuple(caught.values())


def _moved_by(
    with_it: Works, move: WorkMove, moves: Sequence[WorkMove], ground: Ground
) -> Iterator[Caught]:
    """Of several moves that catch a job the first in their order moves it."""
    import numpy as np

    moved = with_it.only((with_it.moved_from != 0) & (with_it.year == move.to_year))
    wanted = [(each, _is_of(moved, each)) for each in moves]
    for at in np.flatnonzero(_is_of(moved, move)).tolist():
        year = int(moved.moved_from[at])
        takers = (each for each, of in wanted if of[at] and catches(each, year, ground.asked))
        if next(takers, None) is move:
            table, source = int(moved.table[at]), int(moved.source[at])
            yield Caught(table, source, int(moved.kind[at]), int(moved.member[at]), year)


def _is_of(works: Works, move: WorkMove) -> NDArray[np.bool_]:
    """Whether each job is of the kind and at the place that a move is about."""
    import numpy as np

    of_kind = np.isin(works.kind, _kinds(move)) & (works.table != FAILURES)
    if move.elevation_id:
        return of_kind & (works.face == move.elevation_id)
    return of_kind & (works.member == move.member_id)


def _kinds(move: WorkMove) -> list[int]:
    return {"repaint": [REPAINT], "repair": [REPAIR], "both": [REPAINT, REPAIR]}[move.kind]


def _put_off(each: Reckoned, labels: Labels, risks: Risks) -> Iterator[PutOff]:
    for job in each.caught:
        if job.from_year < each.move.to_year:
            mark, _ = labels.members.get(job.member, ("", ""))
            yield PutOff(
                mark=mark,
                kind=KINDS[job.kind],
                from_year=job.from_year,
                to_year=each.move.to_year,
                risk=risks.of(
                    job.table == DATES, job.source, job.kind, each.move.to_year,
                    _painted_before(each, job),
                ),
            )  # fmt: skip


def _painted_before(each: Reckoned, job: Caught) -> date | None:
    """When the coating that a put-off repaint waits on is itself to be painted; None where it is
    the one there now."""
    planned = (first_of(month) for month, member in each.painted if member == job.member)
    return max((day for day in planned if day.year < job.from_year), default=None)


def _words(each: Reckoned, currency: str) -> str:
    move = each.move
    years = f"{move.first_year} to {move.last_year}"
    if move.first_year == move.last_year:
        years = str(move.first_year)
    if not each.caught:
        what = {"repaint": "repaint", "repair": "dated repair", "both": "repaint or dated repair"}
        return (
            f"It catches nothing: no {what[move.kind]} falls there in {years} that can go to "
            f"{move.to_year}."
        )
    count = len(each.caught)
    parts = [f"{count} {'job moves' if count == 1 else 'jobs move'} to {move.to_year}."]
    parts.append(_money_words(each, currency))
    if each.visits:
        fewer = f"{abs(each.visits):f}"
        visits = "visit" if abs(each.visits) == 1 else "visits"
        without_price = "" if each.access_saves is not None else ", without a price yet"
        more = "fewer" if each.visits > 0 else "more"
        parts.append(f"{fewer} {visits} of access {more}{without_price}.")
    if each.repaints:
        number = abs(each.repaints)
        name = "repaint" if number == 1 else "repaints"
        where = "more within these years" if each.repaints > 0 else "fall after these years"
        where = "falls after these years" if each.repaints == -1 else where
        parts.append(f"{number} {name} {where}.")
    return " ".join(parts)


def _money_words(each: Reckoned, currency: str) -> str:
    if each.saves is None:
        return "What that saves is not known: none of it has a price."
    likely = each.saves.likely
    if likely == 0:
        return "It saves nothing over these years."
    verb = "saves" if likely > 0 else "costs"
    more = "" if likely > 0 else " more"
    told = f"In today's money it {verb} {show_money(abs(likely), currency)}{more} over these years"
    if each.access_saves is None or each.access_saves.likely in (0, likely):
        return f"{told}."
    access = each.access_saves.likely
    by_access = f"{show_money(abs(access), currency)} {'less' if access > 0 else 'more'}"
    return f"{told}; for access alone it is {by_access}."

"""When one date and those after it fall, by the day, with work moved as a person planned it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from repairs.ahead.figures import Asked
from repairs.ahead.occurrences import month_number
from repairs.due.pace import Pace, following
from repairs.due.series import Standing
from repairs.models import WorkMove

# Before any month, as `month_number` counts them.
NEVER = -(10**6)


@dataclass(frozen=True)
class Fall:
    month: int
    moved_from: int


def falls_one_by_one(
    pace: Pace, standing: Standing, asked: Asked, moves: Sequence[WorkMove]
) -> Iterator[Fall]:
    """The months of one date and those after it, by the day. A move catches each date once, and
    takes none back to the month of the one before it or beyond; the repaint after a moved one
    counts from the day to which it was moved."""
    end, left, before = end_month(asked), list(moves), NEVER
    last = max([end, *((move.last_year + 1 - 1970) * 12 for move in moves)])
    series = pace.series()
    while True:
        day = max(standing.due_on, asked.first)
        if month_number(day) >= last:
            return
        move = catching(left, day.year, asked)
        if move is not None and month_number(moved_to(day, move.to_year, asked)) <= before:
            move = None
        left = [each for each in left if each is not move]
        if move is not None and move.to_year != day.year:
            moved = moved_to(day, move.to_year, asked)
            if month_number(moved) < end:
                yield Fall(month_number(moved), day.year)
            found, before = pace.first_date(moved, moved), month_number(moved)
        else:
            before = month_number(day)
            if month_number(day) < end:
                yield Fall(month_number(day), 0)
            found = following(pace, series, standing, day) if series else None
        if found is None:
            return
        standing = standing.followed_by(found)


def catching(moves: Sequence[WorkMove], year: int, asked: Asked) -> WorkMove | None:
    return next((move for move in moves if catches(move, year, asked)), None)


def catches(move: WorkMove, year: int, asked: Asked) -> bool:
    """What falls in its years; a move to a year that is past catches nothing."""
    return move.first_year <= year <= move.last_year and move.to_year >= asked.first.year


def moved_to(day: date, year: int, asked: Asked) -> date:
    """The same month of another year, not before the first month that is asked for."""
    return max(date(year, day.month, 1), asked.first)


def end_month(asked: Asked) -> int:
    """The first month after the years asked for."""
    return (asked.last_year + 1 - 1970) * 12

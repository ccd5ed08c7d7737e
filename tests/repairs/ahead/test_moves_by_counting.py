"""What a move saves, counted anew: each repaint walked by itself with dateutil, and a scaffold for
each year in which anything is painted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from properties.models import Elevation, Property
from repairs.ahead.outlook import Asked, outlooks
from repairs.models import DueRule
from tests import factories as make
from tests.repairs.ahead.made import rate, set_rules

FIRST, YEARS, EVERY = date(2027, 1, 1), 8, relativedelta(months=24)
REPAINT, SCAFFOLD = 12_500, 80_000
dates = st.dates(FIRST, date(2031, 12, 28))
years = st.integers(2027, 2034)


@dataclass(frozen=True)
class Move:
    first: int
    last: int
    to: int


def painted(due_on: date, move: Move | None) -> Iterator[int]:
    """The years in which one member is painted: every two years, each counted from the last. The
    move catches it once, and puts it on the first day of its month; not before the one before."""
    before, end = date.min, FIRST.year + YEARS
    while due_on.year < max(end, move.last + 1 if move else end):
        if move and move.first <= due_on.year <= move.last:
            moved = due_on.replace(year=move.to, day=1)
            if moved > before:
                due_on, move = moved if move.to != due_on.year else due_on, None
        if due_on.year < end:
            yield due_on.year
        before, due_on = due_on, due_on + EVERY


def cost(members: list[date], move: Move | None) -> int:
    every = [list(painted(due_on, move)) for due_on in members]
    scaffolds = {year for of_one in every for year in of_one}
    return REPAINT * sum(map(len, every)) + SCAFFOLD * len(scaffolds)


@pytest.fixture
def repaint(db: None) -> DueRule:
    return set_rules()[0]


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    members=st.lists(dates, min_size=1, max_size=3), first=years, more=st.integers(0, 3), to=years
)
def test_what_a_move_saves_is_what_counting_both_ways_says(
    members: list[date], first: int, more: int, to: int, repaint: DueRule
) -> None:
    face = face_with(members, repaint)
    move = make.WorkMoveFactory(
        elevation=face, first_year=first, last_year=first + more, to_year=to, kind="repaint"
    )
    one = Property.objects.filter(pk=face.building.property_id)
    (found,) = outlooks(one, Asked(FIRST, years=YEARS))
    before, after = cost(members, None), cost(members, Move(first, first + more, to))
    assert found.today.likely == after
    (effect,) = found.moves
    assert effect.move == move
    if effect.jobs:
        assert effect.saves is not None
        assert effect.saves.likely == before - after
    else:
        assert before == after


def face_with(members: list[date], repaint: DueRule) -> Elevation:
    face: Elevation = make.ElevationFactory(access=Elevation.Access.SCAFFOLD)
    for due_on in members:
        member = make.MemberFactory(building=face.building, elevation=face)
        make.DueDateFactory(
            member=member, kind="repaint", due_on=due_on, counted_from=due_on - EVERY, rule=repaint
        )
    rate(face.building.property, "repaint", "member", REPAINT)
    rate(face.building.property, "scaffold", "elevation", SCAFFOLD)
    return face

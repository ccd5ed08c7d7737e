"""The line drawing of a face: which course a member stands in, and which spot is hatched."""

import pytest

from properties.elevation_drawing import COURSES, LONG, SHAPES, draw
from properties.models import Defect, Member
from properties.models.members import Zone


def sketch(kind: str, *defects: Defect) -> tuple[Member, list[Defect]]:
    member = Member(pk=1, mark="N-1", kind=kind)
    for defect in defects:
        defect.member = member
    return member, list(defects)


def test_every_kind_of_member_stands_in_one_course() -> None:
    drawn = [kind for _, kinds in COURSES for kind in kinds]
    assert sorted(drawn) == sorted(Member.Kind)


@pytest.mark.parametrize("kind", Member.Kind)
@pytest.mark.parametrize("zone", Zone)
def test_a_spot_lies_within_its_timber(kind: Member.Kind, zone: Zone) -> None:
    shape = SHAPES.get(kind, LONG)
    spot, timber = shape.spot(zone), shape.timber
    assert timber.x <= spot.x
    assert spot.x + spot.width <= timber.x + timber.width
    assert timber.y <= spot.y
    assert spot.y + spot.height <= timber.y + timber.height


def test_the_left_end_lies_left_of_the_right_end() -> None:
    assert LONG.spot("left").x < LONG.spot("mid").x < LONG.spot("right").x


def test_two_defects_on_one_spot_hatch_it_once_and_the_worst_speaks() -> None:
    member, defects = sketch(
        "sill", Defect(zone="left", urgency="UC1"), Defect(zone="left", urgency="UC3")
    )
    (course,) = draw([member], defects)
    (drawn,) = course.members
    assert len(drawn.spots) == 1
    assert (drawn.state, drawn.words) == ("overdue", "2 open defects, urgent and immediate")


def test_no_defect_is_said_without_calling_the_member_sound() -> None:
    member, _ = sketch("post")
    (course,) = draw([member], [])
    assert (course.members[0].state, course.members[0].words) == ("", "No open defect")

"""The order in which a round is walked."""

import random
from collections.abc import Callable
from itertools import groupby, pairwise

from hypothesis import given
from hypothesis import strategies as st

from repairs.rounds.order import ACCESS_ORDER, Stop, natural, walking_order


def stop(mark: str, **place: object) -> Stop:
    usual: dict[str, object] = {
        "key": 1, "property": "Mill Row", "building": "Granary", "access": "ground",
        "elevation": "North", "bearing_deg": 0.0, "position": "", **place,
    }  # fmt: skip
    return Stop(mark=mark, **usual)  # type: ignore[arg-type]


def marks(*stops: Stop) -> list[str]:
    return [each.mark for each in walking_order(stops)]


def test_numbers_in_marks_are_read_as_numbers() -> None:
    found = marks(stop("N-SILL-10"), stop("n-sill-3"), stop("N-SILL-2"))
    assert found == ["N-SILL-2", "n-sill-3", "N-SILL-10"]


def test_one_access_at_a_time_the_ground_first() -> None:
    found = marks(
        stop("rope", access="rope"), stop("unknown", access="unknown"),
        stop("tower", access="tower"), stop("ground"), stop("scaffold", access="scaffold"),
        stop("ladder", access="ladder"),
    )  # fmt: skip
    assert found == list(ACCESS_ORDER)


def test_a_tower_is_fetched_once_though_two_faces_need_it() -> None:
    found = marks(
        stop("S low", elevation="South yard", bearing_deg=180.0),
        stop("N high", elevation="North", access="tower"),
        stop("S high", elevation="South", access="tower", bearing_deg=180.0),
        stop("N low", elevation="North foot"),
    )
    assert found == ["N low", "S low", "N high", "S high"]


def test_faces_are_walked_clockwise_from_north_and_unknown_ones_last_by_name() -> None:
    faces = [("W", 270.0), ("E", 90.0), ("b yard", None), ("N", 0.0), ("A lane", None),
             ("S", 180.0), ("", None)]  # fmt: skip
    found = marks(*(stop(name, elevation=name, bearing_deg=deg) for name, deg in faces))
    assert found == ["N", "E", "S", "W", "A lane", "b yard", ""]


def test_position_comes_before_mark_and_none_is_last() -> None:
    found = marks(
        stop("A", position="bay 10"), stop("B", position="bay 9"), stop("C"),
        stop("D", position="bay 9"),
    )  # fmt: skip
    assert found == ["B", "D", "A", "C"]


def test_two_properties_of_one_name_are_not_mixed() -> None:
    found = walking_order(
        stop(f"{n}", property_key=n % 2, key=n, building=f"House {n}") for n in range(6)
    )
    assert [each.property_key for each in found] == [0, 0, 0, 1, 1, 1]


texts = st.text(st.sampled_from("ab10-Ä é"), max_size=4)
bearings = st.none() | st.sampled_from([0.0, 45.5, 180.0, 359.9])


@st.composite
def stop_lists(draw: st.DrawFn) -> list[Stop]:
    """As records have it: an elevation has one access and one bearing."""
    faces = draw(
        st.lists(
            st.tuples(st.integers(0, 2), texts, st.sampled_from(ACCESS_ORDER), texts, bearings),
            min_size=1, max_size=6, unique_by=lambda face: (face[0], face[1], face[3]),
        )
    )  # fmt: skip
    chosen = draw(st.lists(st.tuples(st.sampled_from(faces), texts, texts), max_size=30))
    return [
        Stop(key, f"Yard {face[0] // 2}", face[1], face[2], face[3], face[4], position, mark,
             property_key=face[0])
        for key, (face, position, mark) in enumerate(chosen)
    ]  # fmt: skip


@given(stop_lists(), st.randoms(use_true_random=False))
def test_it_is_the_same_stops_in_one_order_however_they_come(
    stops: list[Stop], shuffler: random.Random
) -> None:
    ordered = walking_order(stops)
    assert sorted(each.key for each in ordered) == sorted(each.key for each in stops)
    shuffled = stops.copy()
    shuffler.shuffle(shuffled)
    assert walking_order(shuffled) == ordered


GROUPINGS: list[Callable[[Stop], object]] = [
    lambda each: each.property_key,
    lambda each: (each.property_key, each.building),
    lambda each: (each.property_key, each.building, each.access),
    lambda each: (each.property_key, each.building, each.access, each.elevation),
]


@given(stop_lists())
def test_every_group_is_walked_in_one_go(stops: list[Stop]) -> None:
    ordered = walking_order(stops)
    for group in GROUPINGS:
        visits = [key for key, _ in groupby(ordered, key=group)]
        assert len(visits) == len(set(visits))


@given(stop_lists())
def test_no_face_is_walked_against_the_clock(stops: list[Stop]) -> None:
    for one, after in pairwise(walking_order(stops)):
        if GROUPINGS[2](one) == GROUPINGS[2](after) and None not in {
            one.bearing_deg,
            after.bearing_deg,
        }:
            assert (one.bearing_deg or 0) <= (after.bearing_deg or 0)


@given(st.lists(st.integers(0, 10**9)))
def test_counted_marks_stand_as_counted(numbers: list[int]) -> None:
    found = sorted((f"S-SILL-{n}" for n in numbers), key=natural)
    assert found == [f"S-SILL-{n}" for n in sorted(numbers)]

"""Volumes against closed forms, scipy, and points thrown at random; walls; linings; the edges."""

import math
import random
import re
from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import simpson

from properties.cavity import (
    LINING,
    POURED,
    PROFILE,
    SHAPES,
    Cavity,
    Shape,
    Station,
    from_poured,
    from_profile,
    from_shapes,
    integral,
    lined,
)
from properties.solids import SOLIDS
from tests.published import published

measures = st.floats(5, 900)
shells = st.floats(0.5, 120)
kinds = st.sampled_from(sorted(SOLIDS))
shapes = st.builds(Shape, kinds, measures, measures, measures)
gaps = st.lists(st.floats(10.1, 20), min_size=1, max_size=12)
BAD = [0, -1, math.nan, math.inf, 10_000.1]


def stations_at(at: list[float], width: float, depth: Callable[[float], float]) -> list[Station]:
    return [Station(x, width, depth(x)) for x in at]


def along(gaps: list[float]) -> list[float]:
    return [sum(gaps[:index]) for index in range(len(gaps) + 1)]


def shape_of(row: dict[str, str]) -> tuple[Shape, float]:
    kind, measures = row["inputs"].split(" ", 1)
    length, width, *rest = map(float, re.findall(r"\d+", measures))
    depth = rest.pop(0) if SOLIDS[kind].has_depth else None
    return Shape(kind, length, width, depth), rest[0] if rest else 0.0


@pytest.mark.parametrize("row", published("cavity", "Volume"))
def test_a_simple_shape_holds_what_geometry_says(row: dict[str, str]) -> None:
    shape, _ = shape_of(row)
    assert from_shapes([shape]).ml == Decimal(row["value"])


@pytest.mark.parametrize("row", published("cavity", "Core"))
def test_a_core_is_smaller_by_the_shell_on_every_side(row: dict[str, str]) -> None:
    shape, shell = shape_of(row)
    assert lined(from_shapes([shape]), shell).core_ml == Decimal(row["value"])


@given(st.lists(shapes, min_size=1, max_size=4))
def test_shapes_add_up(some: list[Shape]) -> None:
    alone = [from_shapes([shape]) for shape in some if volume(shape) < 9e8]
    assume(len(alone) == len(some) and sum(each.ml for each in alone) < 999_000)
    together = from_shapes(some)
    assert float(together.ml) == pytest.approx(float(sum(each.ml for each in alone)), abs=0.3)
    assert together.depth_mm == max(each.depth_mm or 0 for each in alone)


def volume(shape: Shape) -> float:
    return SOLIDS[shape.kind].volume(shape.length_mm, shape.width_mm, shape.depth_mm or 0)


def test_a_sound_core_is_taken_off() -> None:
    whole, off = Shape("box", 300, 80, 40), Shape("cylinder", 300, 20, taken_off=True)
    cavity = from_shapes([whole, off])
    assert cavity.ml == round(Decimal(960 - math.pi * 100 * 0.3), 1)
    assert "1 shape taken off" in cavity.basis


@pytest.mark.parametrize("off", [Shape("box", 10, 10, 10, True), Shape("box", 20, 10, 10, True)])
def test_more_taken_off_than_there_is_is_an_error_in_words(off: Shape) -> None:
    with pytest.raises(ValueError, match=r"taken off .* is not less than the cavity"):
        from_shapes([Shape("box", 10, 10, 10), off])


def test_a_cavity_needs_a_shape_that_is_not_taken_off() -> None:
    for none in ([], [Shape("box", 1, 1, 1, taken_off=True)]):
        with pytest.raises(ValueError, match="at least one shape"):
            from_shapes(none)


@pytest.mark.parametrize("bad", BAD)
def test_a_measure_is_above_0_and_up_to_10_m(bad: float) -> None:
    for measures in ((bad, 10, 10), (10, bad, 10), (10, 10, bad)):
        with pytest.raises(ValueError, match=r"above 0 and up to 10,000"):
            Shape("box", *measures)


def test_an_unknown_shape_and_a_missing_depth_are_refused_in_words() -> None:
    with pytest.raises(ValueError, match="not of “ball”"):
        Shape("ball", 1, 1)
    with pytest.raises(ValueError, match="A wedge needs its depth"):
        Shape("wedge", 1, 1)


def test_more_than_a_thousand_litres_is_a_slip_in_the_units() -> None:
    with pytest.raises(ValueError, match="look at the units"):
        from_shapes([Shape("box", 10_000, 1_000, 1_000)])


def test_the_walls_of_a_box_are_two_ends_two_sides_and_a_floor() -> None:
    cavity = from_shapes([Shape("box", 300, 80, 40)])
    assert cavity.end_mm2 == 2 * 80 * 40
    assert cavity.side_mm2 == 300 * (80 + 2 * 40)


@given(measures, measures)
def test_the_walls_of_a_cone_add_up_to_its_slope(length: float, width: float) -> None:
    cone = SOLIDS["cone"]
    slope = math.pi * width / 2 * math.hypot(length, width / 2)
    assert cone.end(length, width, 0) + cone.side(length, width, 0) == pytest.approx(slope)


@given(st.floats(1, 50), st.floats(1, 50), gaps)
def test_a_straight_profile_is_a_box(width: float, depth: float, gaps: list[float]) -> None:
    """Limit case."""
    at = along(gaps)
    profile = from_profile(stations_at(at, width, lambda _: depth))
    box = from_shapes([Shape("box", at[-1], width, depth)])
    assert float(profile.ml) == pytest.approx(float(box.ml), abs=0.11)
    assert profile.depth_mm == box.depth_mm
    assert float(profile.side_mm2 or 0) == pytest.approx(float(box.side_mm2 or 0), abs=0.2)
    assert profile.end_mm2 == pytest.approx(box.end_mm2, abs=Decimal("0.2"))


@pytest.mark.parametrize("count", [3, 4, 5, 8])
def test_a_parabola_is_summed_exactly_for_an_even_and_an_odd_number_of_stations(
    count: int,
) -> None:
    """Limit case: Simpson's rule is exact for a parabola."""
    at = [300 * index / (count - 1) for index in range(count)]
    profile = from_profile(stations_at(at, 60, lambda x: x * (300 - x) / 500))
    assert float(profile.ml) == pytest.approx(60 * 300**3 / 6 / 500 / 1000, abs=0.06)


@given(gaps, st.data())
def test_unequal_gaps_agree_with_scipy(gaps: list[float], data: st.DataObject) -> None:
    """Independent: scipy.integrate.simpson."""
    at = along(gaps)
    sizes = [data.draw(st.floats(0, 5000)) for _ in at]
    assert integral(sizes, at) == pytest.approx(float(simpson(sizes, x=at)), rel=1e-9, abs=1e-6)


@given(st.lists(st.floats(0.1, 3000), min_size=1, max_size=12), st.data())
def test_a_profile_never_holds_less_than_nothing(gaps: list[float], data: st.DataObject) -> None:
    """Parabolas over very unequal gaps dip below zero; straight lines do not."""
    at = along(gaps)
    sizes = [data.draw(st.floats(0, 5000)) for _ in at]
    assert -1e-6 <= integral(sizes, at) <= 2 * max(sizes) * at[-1] + 1e-6


@pytest.mark.parametrize(
    ("stations", "words"),
    [
        ([], "2 to 200 stations, and has 0"),
        ([Station(0, 1, 1)], "2 to 200 stations, and has 1"),
        ([Station(0, 1, 1)] * 2, "each beyond the last"),
        ([Station(9, 1, 1), Station(3, 1, 1)], "each beyond the last"),
        ([Station(0, 0, 0), Station(3, 0, 1)], "holds nothing"),
        ([Station(0, -1, 1), Station(3, 1, 1)], "width"),
        ([Station(0, 1, math.nan), Station(3, 1, 1)], "depth"),
        ([Station(0, 1, 1), Station(10_001, 1, 1)], "at"),
    ],
)
def test_a_wrong_profile_is_refused_in_words(stations: list[Station], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        from_profile(stations)


def test_what_was_poured_in_is_the_volume_and_tells_no_walls() -> None:
    cavity = from_poured(Decimal("412.5"), Decimal(30))
    assert (cavity.ml, cavity.depth_mm) == (Decimal("412.5"), Decimal("30.0"))
    assert cavity.end_mm2 is None
    assert cavity.side_mm2 is None
    assert from_poured(100).depth_mm is None


@pytest.mark.parametrize("bad", [0, -5, math.nan, math.inf, 1_000_001])
def test_an_impossible_amount_poured_in_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="poured in"):
        from_poured(bad)


cavities = st.one_of(
    st.builds(lambda shape: from_shapes([shape]), shapes.filter(lambda each: volume(each) < 9e8)),
    st.builds(from_poured, st.floats(1, 9e5), measures),
    st.builds(from_poured, st.floats(1, 9e5)),
    st.builds(
        lambda gaps, width, depth: from_profile(stations_at(along(gaps), width, lambda _: depth)),
        gaps,
        measures,
        measures,
    ),
)


@given(cavities, shells)
def test_shell_and_core_make_up_the_cavity(cavity: Cavity, shell: float) -> None:
    lining = lined(cavity, shell)
    assert lining.shell_ml + lining.core_ml == cavity.ml
    assert lining.core_ml >= 0
    assert lining.shell_ml >= 0


@given(cavities, shells, shells)
def test_a_thicker_shell_takes_no_less(cavity: Cavity, one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    assert lined(cavity, thin).shell_ml <= lined(cavity, thick).shell_ml


@given(shapes.filter(lambda each: volume(each) < 9e8))
def test_a_very_thin_shell_is_its_thickness_times_all_its_faces(shape: Shape) -> None:
    """Limit case: the volume falls at the rate of the surface, which shrinks inwards."""
    solid = SOLIDS[shape.kind]
    size = (shape.length_mm, shape.width_mm, shape.depth_mm or 0)
    whole = solid.volume(*size)
    one, two = (whole - solid.core(*size, t) for t in (0.001, 0.002))
    assert two == pytest.approx(2 * one, rel=0.01)


@pytest.mark.parametrize("kind", ["half_round", "cone", "wedge"])
def test_a_core_is_that_of_points_thrown_at_random(kind: str) -> None:
    """Independent: points inside that lie further than the shell from every face."""
    throw, shell, (length, width, depth) = random.Random(3), 6.0, (90.0, 80.0, 50.0)
    inside = FURTHER[kind]
    box = length * width * depth
    tries = 40_000
    hits = sum(
        inside(throw.uniform(0, length), throw.uniform(0, width), throw.uniform(0, depth), shell)
        for _ in range(tries)
    )
    core = SOLIDS[kind].core(90, 80, 50, shell)
    assert core == pytest.approx(box * hits / tries, abs=4 * box * 0.5 / math.sqrt(tries))


def in_half_round(x: float, y: float, z: float, t: float) -> bool:
    return t < x < 90 - t and z > t and math.hypot(y - 40, z) < 40 - t


def in_cone(x: float, y: float, z: float, t: float) -> int:
    """Base at x = 0; only half of it stands in the box, so that it is counted twice."""
    slope = math.hypot(40, 90)
    from_side = (40 * 90 - 40 * x - 90 * math.hypot(y - 40, z)) / slope
    return 2 * (x > t and from_side > t)


def in_wedge(x: float, y: float, z: float, t: float) -> bool:
    from_slope = (80 * 50 - 50 * y - 80 * z) / math.hypot(80, 50)
    return t < x < 90 - t and y > t and z > t and from_slope > t


FURTHER = {"half_round": in_half_round, "cone": in_cone, "wedge": in_wedge}


def test_a_shell_that_leaves_no_core_is_solid_and_says_so() -> None:
    lining = lined(from_shapes([Shape("box", 300, 80, 25)]), 13)
    assert (lining.core_ml, lining.shell_ml) == (0, 600)
    assert "it is solid" in lining.basis


def test_sound_wood_in_the_middle_is_lined_too() -> None:
    around = from_shapes([Shape("box", 300, 80, 80), Shape("box", 200, 20, 20, taken_off=True)])
    open_core = lined(from_shapes([Shape("box", 300, 80, 80)]), 10).core_ml
    assert lined(around, 10).core_ml == open_core - 220 * 40 * 40 // 1000


def test_what_was_poured_in_is_lined_as_a_square_box() -> None:
    lining = lined(from_poured(1000, 100), 10)
    assert lining.core_ml == 512
    assert "a long cavity needs more" in lining.basis
    assert lined(from_poured(1000), 10).core_ml == 512


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf, 501])
def test_a_shell_out_of_range_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="thickness of the shell"):
        lined(from_poured(100), bad)


@pytest.mark.parametrize("formula", [SHAPES, PROFILE, POURED, LINING])
def test_each_formula_tells_words_symbols_source_and_range(formula: object) -> None:
    assert all(vars(formula).values())

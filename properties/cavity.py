"""How much a cavity holds, and what walls it has, from shapes, a profile, or what was poured in.

Lengths in millimetres, areas in square millimetres, volumes in millilitres (1 ml = 1000 mm³). The
grain runs along the length. A cavity is open on the face of the member; a cylinder and a cone are
bored along the grain and open at one end."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from math import isfinite, sqrt

from config.figures import Formula

from .solids import BOX, SOLIDS

Number = float | Decimal

LONGEST_MM = 10_000
LARGEST_ML = 1_000_000
THICKEST_SHELL_MM = 500
MOST_STATIONS = 200

SHAPES = Formula(
    "Length × width × depth for a box; half of it for a wedge; the round end × length for a "
    "cylinder or a half-round; a third of that for a cone. Shapes are added, or taken off.",
    "V = l w d; l w d / 2; π w² l / 4; π w² l / 8; π w² l / 12",
    "Solid geometry",
    f"each measure above 0 and up to {LONGEST_MM // 1000} m, the whole up to "
    f"{LARGEST_ML // 1000:,} litres",
)
PROFILE = Formula(
    "Width × depth at each station is the section there; parabolas through three stations at a "
    "time are summed along the member. Where one gap is more than twice its neighbour, straight "
    "lines between stations are taken instead.",
    "V = ∫ w(x) d(x) dx, by Simpson's rule for unequal gaps",
    "Simpson's rule; an odd gap left over by Cartwright's form of it (J. Math. Sci. Math. Educ. "
    "11(2), 2016, from memory)",
    f"2 to {MOST_STATIONS} stations, rising, none further than {LONGEST_MM // 1000} m",
)
POURED = Formula(
    "What water or dry sand the cavity took, read off a measuring jug.",
    "V = what was poured in",
    "Measured; water soaks into bare wood, so that sand, or a bag to hold the water, is better "
    "(common practice, no source)",
    f"up to {LARGEST_ML // 1000:,} litres",
)
LINING = Formula(
    "The cavity less a core of its own shape, everywhere the thickness of the shell inside of it, "
    "also below the outer face.",
    "V shell = V − V core; box: V core = (l − 2t)(w − 2t)(d − 2t)",
    "Solid geometry, inner parallel body of each shape",
    f"a shell of up to {THICKEST_SHELL_MM} mm",
)


@dataclass(frozen=True)
class Shape:
    """A simple shape. `width_mm` is the diameter of what is round; `depth_mm` is asked of a box
    and a wedge only. A wedge is deep on one edge and runs out to nothing on the other, all along.

    Raises ValueError for an unknown kind, or a measure that is not above 0 and up to 10 m."""

    kind: str
    length_mm: float
    width_mm: float
    depth_mm: float | None = None
    taken_off: bool = False

    def __post_init__(self) -> None:
        if self.kind not in SOLIDS:
            raise ValueError(f"A cavity is made of {', '.join(SOLIDS)}; not of “{self.kind}”.")
        if SOLIDS[self.kind].has_depth and self.depth_mm is None:
            raise ValueError(f"A {self.kind} needs its depth.")
        _length("The length", self.length_mm)
        _length("The width or diameter", self.width_mm)
        if self.depth_mm is not None:
            _length("The depth", self.depth_mm)


@dataclass(frozen=True)
class Station:
    """The section measured at one place along the member, taken as width × depth."""

    at_mm: float
    width_mm: float
    depth_mm: float


@dataclass(frozen=True)
class Cavity:
    """`depth_mm` is the deepest place; `end_mm2` and `side_mm2` are the walls across and along
    the grain. None where it is not known. `basis` says how it was reached."""

    ml: Decimal
    depth_mm: Decimal | None
    end_mm2: Decimal | None
    side_mm2: Decimal | None
    basis: str
    shapes: tuple[Shape, ...] = ()
    stations: tuple[Station, ...] = ()


@dataclass(frozen=True)
class Lining:
    """A shell all round, and the core inside that stays hollow or takes a block. The two add up
    to the cavity exactly."""

    shell_ml: Decimal
    core_ml: Decimal
    basis: str


def from_shapes(shapes: Iterable[Shape]) -> Cavity:
    """The sum of the shapes, less those taken off. See `SHAPES`.

    The walls are those of the shapes added, faces that two share counted in both: rather too much
    sealer than too little. Raises ValueError for no shape, for more taken off than there is, and
    for more than 1,000 litres."""
    shapes = tuple(shapes)
    added = [shape for shape in shapes if not shape.taken_off]
    if not added:
        raise ValueError("Add at least one shape that is not taken off.")
    whole = sum(_volume(shape) for shape in added)
    off = sum(_volume(shape) for shape in shapes if shape.taken_off)
    if off >= whole:
        raise ValueError(
            f"What is taken off ({off / 1000:,.0f} ml) is not less than the cavity "
            f"({whole / 1000:,.0f} ml)."
        )
    return Cavity(
        _ml(whole - off),
        _decimal(max(SOLIDS[each.kind].deep(*_measures(each)) for each in added)),
        _decimal(sum(SOLIDS[each.kind].end(*_measures(each)) for each in added)),
        _decimal(sum(SOLIDS[each.kind].side(*_measures(each)) for each in added)),
        f"From {_count(len(added), 'shape')}"
        + (f", {_count(len(shapes) - len(added), 'shape')} taken off" if off else "")
        + ". The grain runs along the length.",
        shapes,
    )


def from_profile(stations: Iterable[Station]) -> Cavity:
    """The integral of width × depth over the stations, in their order along the member.

    See `PROFILE`. A width or depth of 0 is a place where the cavity ends. Raises ValueError for
    fewer than two stations, stations that do not rise, and measures outside of 0 to 10 m."""
    stations = tuple(stations)
    if not 2 <= len(stations) <= MOST_STATIONS:
        raise ValueError(f"A profile has 2 to {MOST_STATIONS} stations, and has {len(stations)}.")
    for station in stations:
        for name in ("at_mm", "width_mm", "depth_mm"):
            _within(f"A station's {name[:-3]}", getattr(station, name), 0, LONGEST_MM)
    at = [float(station.at_mm) for station in stations]
    if any(later <= earlier for earlier, later in pairwise(at)):
        raise ValueError("The stations of a profile go along the member, each beyond the last.")
    sections = [float(each.width_mm) * float(each.depth_mm) for each in stations]
    girths = [float(each.width_mm) + 2 * float(each.depth_mm) for each in stations]
    steps = sum(abs(b - a) for a, b in pairwise(sections))
    volume = integral(sections, at)
    if volume <= 0:
        raise ValueError("The profile holds nothing: every section is 0.")
    return Cavity(
        _ml(volume),
        _decimal(max(float(station.depth_mm) for station in stations)),
        _decimal(sections[0] + sections[-1] + steps),
        _decimal(integral(girths, at)),
        f"From a profile of {len(stations)} stations, each section taken as width × depth.",
        stations=stations,
    )


def from_poured(ml: Number, depth_mm: Number | None = None) -> Cavity:
    """What was poured in; the walls stay unknown. ValueError outside of 0 to 1,000 litres."""
    if depth_mm is not None:
        _length("The depth", depth_mm)
    _within("What was poured in, in ml,", ml, 0, LARGEST_ML, above=True)
    depth = None if depth_mm is None else _decimal(float(depth_mm))
    return Cavity(_ml(float(ml) * 1000), depth, None, None, "Measured with what it took.")


def lined(cavity: Cavity, shell_mm: Number) -> Lining:
    """The shell and the core of a cavity lined all round. See `LINING`.

    Of several shapes, each is lined by itself, and what is taken off is kept clear of by the
    thickness of the shell: rather too much shell than too little. What was poured in is taken as
    a square box of that volume and depth, or as a cube. Raises ValueError for a shell that is not
    above 0 and up to 500 mm."""
    _within("The thickness of the shell, in mm,", shell_mm, 0, THICKEST_SHELL_MM, above=True)
    t = float(shell_mm)
    core = min(_ml(max(_core(cavity, t), 0.0)), cavity.ml)
    if core == 0:
        return Lining(cavity.ml, core, f"A shell of {t:g} mm leaves no core: it is solid.")
    basis = f"A shell of {t:g} mm all round, also under the outer face."
    if not (cavity.shapes or cavity.stations):
        basis += " Taken as a square box; a long cavity needs more shell."
    return Lining(cavity.ml - core, core, basis)


def integral(values: Sequence[float], at: Sequence[float]) -> float:
    """Simpson's rule over unequal gaps; the same as scipy.integrate.simpson while no gap is more
    than twice its neighbour, and never below zero for values that are not."""
    total, index, last = 0.0, 0, len(at) - 1
    while index < last:
        if index + 1 == last:
            total += _odd_gap(values, at)
            break
        h, k = at[index + 1] - at[index], at[index + 2] - at[index + 1]
        f, g, e = values[index : index + 3]
        if max(h, k) > 2 * min(h, k):
            total += (f + g) * h / 2 + (g + e) * k / 2
        else:
            total += (h + k) / 6 * (f * (2 - k / h) + g * (h + k) ** 2 / (h * k) + e * (2 - h / k))
        index += 2
    return total


def _odd_gap(values: Sequence[float], at: Sequence[float]) -> float:
    """The last gap, which has no partner: the parabola through the last three stations."""
    h = at[-1] - at[-2]
    k = at[-2] - at[-3] if len(at) > 2 else 0.0
    if not k or max(h, k) > 2 * min(h, k):
        return (values[-1] + values[-2]) * h / 2
    return (
        values[-1] * (2 * h**2 + 3 * h * k) / (6 * (k + h))
        + values[-2] * (h**2 + 3 * h * k) / (6 * k)
        - values[-3] * h**3 / (6 * k * (k + h))
    )


def _core(cavity: Cavity, t: float) -> float:
    if cavity.stations:
        inner = [
            max(float(each.width_mm) - 2 * t, 0) * max(float(each.depth_mm) - 2 * t, 0)
            for each in cavity.stations
        ]
        at = [float(each.at_mm) for each in cavity.stations]
        length = at[-1] - at[0]
        return integral(inner, at) * max(1 - 2 * t / length, 0)
    if cavity.shapes:
        return sum(
            -SOLIDS[shape.kind].volume(*(each + 2 * t for each in _measures(shape)))
            if shape.taken_off
            else SOLIDS[shape.kind].core(*_measures(shape), t)
            for shape in cavity.shapes
        )
    volume = float(cavity.ml) * 1000
    depth = float(cavity.depth_mm) if cavity.depth_mm else volume ** (1 / 3)
    side = sqrt(volume / depth)
    return BOX.core(side, side, depth, t)


def _measures(shape: Shape) -> tuple[float, float, float]:
    return float(shape.length_mm), float(shape.width_mm), float(shape.depth_mm or 0)


def _volume(shape: Shape) -> float:
    return SOLIDS[shape.kind].volume(*_measures(shape))


def _ml(mm3: float) -> Decimal:
    if mm3 > LARGEST_ML * 1000:
        raise ValueError(
            f"{mm3 / 1e6:,.0f} litres is more than the {LARGEST_ML // 1000:,} that are reckoned "
            "with; look at the units."
        )
    return round(Decimal(mm3) / 1000, 1)


def _decimal(number: float) -> Decimal:
    return round(Decimal(number), 1)


def _length(name: str, number: Number) -> None:
    _within(name, number, 0, LONGEST_MM, above=True)


def _within(name: str, number: Number, least: float, most: float, *, above: bool = False) -> None:
    value = float(number)
    if not isfinite(value) or not least <= value <= most or (above and value == least):
        words = "above" if above else "from"
        raise ValueError(f"{name} is {words} {least:g} and up to {most:,g}, and not {value:g}.")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"

"""The simple shapes that make a cavity: what each holds, its walls, and the core inside of it.

Measures in millimetres as length, width (the diameter of what is round), depth. The grain runs
along the length. What is round is bored or gouged along the grain."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import acos, hypot, pi, sqrt

Measured = Callable[[float, float, float], float]


@dataclass(frozen=True)
class Solid:
    """`end` and `side` are the walls across and along the grain, in mm², without the open face;
    a slope counts as end grain for what it hides of the end. `core` is what stays a distance
    away from every side, the open one too, in mm³."""

    volume: Measured
    end: Measured
    side: Measured
    deep: Measured
    core: Callable[[float, float, float, float], float]
    has_depth: bool = False


def _box_core(length: float, width: float, depth: float, t: float) -> float:
    return max(length - 2 * t, 0) * max(width - 2 * t, 0) * max(depth - 2 * t, 0)


def _wedge_core(length: float, width: float, depth: float, t: float) -> float:
    left = _left(t, (width + depth - hypot(width, depth)) / 2)
    return max(length - 2 * t, 0) * width * depth / 2 * left**2


def _cylinder_core(length: float, width: float, _: float, t: float) -> float:
    return max(length - 2 * t, 0) * pi * max(width - 2 * t, 0) ** 2 / 4


def _half_round_core(length: float, width: float, _: float, t: float) -> float:
    """The segment that a circle smaller by t leaves above a line t from its middle."""
    radius = width / 2 - t
    if radius <= t:
        return 0.0
    segment = radius**2 * acos(t / radius) - t * sqrt(radius**2 - t**2)
    return max(length - 2 * t, 0) * segment


def _cone_core(length: float, width: float, _: float, t: float) -> float:
    radius = width / 2
    left = _left(t, radius * length / (radius + hypot(radius, length)))
    return pi * radius**2 * length / 3 * left**3


def _left(t: float, inner_radius: float) -> float:
    """How much smaller the like shape is that stays t away from each side."""
    return max(1 - t / inner_radius, 0)


BOX = Solid(
    volume=lambda length, width, depth: length * width * depth,
    end=lambda _, width, depth: 2 * width * depth,
    side=lambda length, width, depth: length * (width + 2 * depth),
    deep=lambda _length, _width, depth: depth,
    core=_box_core,
    has_depth=True,
)
# Deep on one edge, running out to nothing on the other, the same all along.
WEDGE = Solid(
    volume=lambda length, width, depth: length * width * depth / 2,
    end=lambda _, width, depth: width * depth,
    side=lambda length, width, depth: length * (depth + hypot(width, depth)),
    deep=lambda _length, _width, depth: depth,
    core=_wedge_core,
    has_depth=True,
)
CYLINDER = Solid(
    volume=lambda length, width, _: pi * width**2 / 4 * length,
    end=lambda _length, width, _: pi * width**2 / 4,
    side=lambda length, width, _: pi * width * length,
    deep=lambda length, _width, _: length,
    core=_cylinder_core,
)
HALF_ROUND = Solid(
    volume=lambda length, width, _: pi * width**2 / 8 * length,
    end=lambda _length, width, _: pi * width**2 / 4,
    side=lambda length, width, _: pi * width / 2 * length,
    deep=lambda _length, width, _: width / 2,
    core=_half_round_core,
)
CONE = Solid(
    volume=lambda length, width, _: pi * width**2 / 12 * length,
    end=lambda _length, width, _: pi * width**2 / 4,
    side=lambda length, width, _: pi * width / 2 * (hypot(length, width / 2) - width / 2),
    deep=lambda length, _width, _: length,
    core=_cone_core,
)

SOLIDS = {"box": BOX, "wedge": WEDGE, "cylinder": CYLINDER, "half_round": HALF_ROUND, "cone": CONE}

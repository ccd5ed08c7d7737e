"""The curve of how many repairs are still sound, as paths for a template to draw."""

from __future__ import annotations

from dataclasses import dataclass

from repairs.lives.report import LivesReport, year_gap
from repairs.survival import Step, Survival

WIDTH, HEIGHT = 460, 290
LEFT, RIGHT, TOP, BOTTOM = 44, 12, 12, 44
# What moves the pen by less than this cannot be seen.
HAIR = 0.2


@dataclass(frozen=True)
class Tick:
    at: float
    words: str


@dataclass(frozen=True)
class Curve:
    """One group: told apart by its line and its hatch, never by colour alone."""

    name: str
    line: str
    band: str
    dashes: str
    hatch: str


@dataclass(frozen=True)
class Chart:
    curves: tuple[Curve, ...]
    years: tuple[Tick, ...]
    shares: tuple[Tick, ...]
    words: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    top: int = TOP
    bottom: int = HEIGHT - BOTTOM
    shares_x: int = LEFT - 6
    years_y: int = HEIGHT - BOTTOM + 18
    words_y: int = HEIGHT - 6


MANNERS = (("", "hatch"), ("7 4", "dots"))


def chart_of(report: LivesReport) -> Chart | None:
    """None where no group has enough for a curve."""
    drawn = [
        (group, manner)
        for group, manner in zip(report.groups, MANNERS, strict=False)
        if group.survival.is_enough
    ]
    longest = max((group.survival.longest for group, _ in drawn), default=0.0)
    if not longest:
        return None
    pen = _Pen(longest)
    gap = year_gap(longest)
    return Chart(
        curves=tuple(
            Curve(group.name, pen.line(group.survival), pen.band(group.survival), *manner)
            for group, manner in drawn
        ),
        years=tuple(Tick(pen.x(n * gap), f"{n * gap:g}") for n in range(int(longest / gap) + 1)),
        shares=tuple(Tick(pen.y(percent / 100), str(percent)) for percent in range(0, 101, 25)),
        words="Share still sound against years since the repair. The same figures stand in the "
        "table below.",
    )


class _Pen:
    def __init__(self, longest: float) -> None:
        self.longest = longest

    def x(self, years: float) -> float:
        return round(LEFT + (WIDTH - LEFT - RIGHT) * years / self.longest, 1)

    def y(self, share: float) -> float:
        return round(TOP + (HEIGHT - TOP - BOTTOM) * (1 - share), 1)

    def line(self, found: Survival) -> str:
        stairs = [f"M{self.x(0)} {self.y(1)}"]
        for step in self._seen(found):
            stairs.append(f"H{self.x(step.years)}V{self.y(step.share)}")
        stairs.append(f"H{self.x(found.longest)}")
        return "".join(stairs)

    def band(self, found: Survival) -> str:
        """Out along the upper edge and back along the lower one."""
        edges = [
            (self.x(step.years), self.y(step.high), self.y(step.low))
            for step in self._seen(found)
            if step.low is not None and step.high is not None
        ]
        if not edges:
            return ""
        first = edges[0][0]
        gone = next((step.years for step in found.steps if step.share == 0), found.longest)
        end = self.x(gone)
        upper = "".join(f"H{x}V{high}" for x, high, _ in edges) + f"H{end}"
        lower = [f"V{edges[-1][2]}"]
        for (x, _, _), (_, _, before) in zip(
            reversed(edges[1:]), reversed(edges[:-1]), strict=True
        ):
            lower.append(f"H{x}V{before}")
        return f"M{first} {edges[0][1]}{upper}{''.join(lower)}H{first}Z"

    def _seen(self, found: Survival) -> list[Step]:
        """The steps at which something fell, without those too near to the one before."""
        seen: list[Step] = []
        at = (0.0, self.y(1))
        for step in found.steps:
            here = (self.x(step.years), self.y(step.share))
            moved = abs(here[0] - at[0]) >= HAIR or abs(here[1] - at[1]) >= HAIR
            if step.failed and (moved or step.share == 0):
                seen.append(step)
                at = here
        return seen

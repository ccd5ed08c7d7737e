"""Timing two things in turn, so that both see the same machine."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

Act = Callable[[], object]


@dataclass(frozen=True)
class Ratio:
    """Medians in milliseconds, and the median of the ratios pair by pair."""

    name: str
    ours_ms: float
    raw_ms: float
    ratio: float
    aim: str = ""

    def row(self) -> str:
        return (
            f"| {self.name} | {_shown(self.ours_ms)} | {_shown(self.raw_ms)} | {self.ratio:.2f} "
            f"| {self.aim} |"
        )


def compare(name: str, ours: Act, raw: Act, aim: str = "", rounds: int = 5) -> Ratio:
    ours(), raw()  # both warm
    pairs = [(_milliseconds(ours), _milliseconds(raw)) for _ in range(rounds)]
    return Ratio(
        name,
        statistics.median(pair[0] for pair in pairs),
        statistics.median(pair[1] for pair in pairs),
        statistics.median(pair[0] / pair[1] for pair in pairs),
        aim,
    )


def _shown(milliseconds: float) -> str:
    return f"{milliseconds:,.1f}" if milliseconds >= 1 else f"{milliseconds:.2g}"


def _milliseconds(act: Act) -> float:
    begun = time.perf_counter()
    act()
    return (time.perf_counter() - begun) * 1000

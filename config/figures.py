"""A computed figure that can be opened: its inputs, how it was reached, and who says so."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Formula:
    """How a figure is reached, whatever the numbers: in words, in symbols, with its source and
    the range in which it holds. It stands beside the function that computes it."""

    words: str
    symbols: str
    source: str
    holds: str = ""


@dataclass(frozen=True)
class Figure:
    """One figure as a page shows it. `value` is in the reader's units; where an input lies out of
    range there is no number, and `value` is the remark that says so."""

    value: str
    name: str = ""
    inputs: tuple[tuple[str, str], ...] = ()
    formula: str = ""
    symbols: str = ""
    source: str = ""
    holds: str = ""


def figure(name: str, value: str, formula: Formula, *inputs: tuple[str, str]) -> Figure:
    """The figure with the formula that it was reached by."""
    return Figure(
        value=value,
        name=name,
        inputs=inputs,
        formula=formula.words,
        symbols=formula.symbols,
        source=formula.source,
        holds=formula.holds,
    )

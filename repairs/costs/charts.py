"""A cost report laid out for reading: rows of bars, and the total as a sentence."""

from __future__ import annotations

from dataclasses import dataclass

from materials.money import show_bare, show_money
from repairs.costs.reports import CostReport, Share, shortened


@dataclass(frozen=True)
class Bar:
    """One row of `_bars.html`; width in percent of the longest bar."""

    label: str
    value: str
    width: float | None
    hatch: str = "hatch"
    url: str = ""
    total: bool = False


@dataclass(frozen=True)
class Section:
    slug: str
    title: str
    head: str
    rows: tuple[Bar, ...]


def page_sections(report: CostReport) -> list[Section]:
    """Every division of the total as bars, each closed by the same total."""
    return [
        Section(name.lower(), f"Cost by {name.lower()}", name, _bars(shares, report))
        for name, shares in report.sections
    ]


def _bars(shares: tuple[Share, ...], report: CostReport) -> tuple[Bar, ...]:
    shown = shortened(shares)
    longest = max((abs(share.minor) for share in shown), default=0)
    bars = [
        Bar(
            label=share.label,
            value=show_bare(share.minor, report.currency),
            width=round(100 * abs(share.minor) / longest, 1) if longest else 0,
            # Money back is drawn hollow, so that it never reads as money spent.
            hatch="hollow" if share.minor < 0 else "hatch",
            url=share.url,
        )
        for share in shown
    ]
    total = Bar("Total", show_money(report.total_minor, report.currency), None, total=True)
    return (*bars, total)


def total_in_words(report: CostReport) -> str:
    period = report.period.in_words()
    if not report.by_year:
        return f"{report.title}: no costs are recorded {period}."
    total = show_money(report.total_minor, report.currency)
    return f"{report.title}: {total} {period}."

"""How long repairs last, as a workbook and as one table: every step, and every life behind it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from properties.exports import csv_of, workbook_of
from repairs.lives.report import LivesReport
from repairs.models import Repair

STEPS = (
    "Group", "Years", "Share still sound", "Band, low", "Band, high", "At risk", "Failed",
    "Left sound",
)  # fmt: skip
LIVES = (
    "Group", "Member", "Building", "Property", "Kind", "Done on", "Ended on", "Years", "Failed",
    "How it stands", "Repair",
)  # fmt: skip


def steps_csv(report: LivesReport) -> bytes:
    return csv_of(STEPS, _steps(report))


def workbook(report: LivesReport) -> bytes:
    return workbook_of(
        (
            ("Summary", _summary(report)),
            ("Curve", [STEPS, *_steps(report)]),
            ("Repairs", [LIVES, *_lives(report)]),
        )
    )


def _summary(report: LivesReport) -> Iterator[tuple[Any, ...]]:
    yield ("How long repairs last", report.what, f"as of {report.on:%-d %B %Y}")
    yield ("Group", "Repairs", "Failed", "Median, years", "Band, low", "Band, high", "In words")
    for group in report.groups:
        found = group.survival
        yield (
            group.name, found.count, found.failed, found.median, found.median_low,
            found.median_high, group.median_words,
        )  # fmt: skip
    if report.compared is not None:
        yield ("Log-rank", "z", report.compared.z, "p", report.compared.p, report.compared_words)
    if report.left_out:
        yield (report.left_out,)


def _steps(report: LivesReport) -> Iterator[tuple[Any, ...]]:
    for group in report.groups:
        for step in group.survival.steps:
            yield (
                group.name, step.years, step.share, step.low, step.high, step.at_risk,
                step.failed, step.censored,
            )  # fmt: skip


def _lives(report: LivesReport) -> Iterator[tuple[Any, ...]]:
    kinds = dict(Repair.Kind.choices)
    places = _places(report)
    for group in report.groups:
        for life in group.lives:
            yield (
                group.name, *places[life.repair_id], kinds[Repair.Kind(life.kind)], life.done_on,
                life.ended_on, life.years, "yes" if life.failed else "no", life.ending,
                life.repair_id,
            )  # fmt: skip


def _places(report: LivesReport) -> dict[int, tuple[str, ...]]:
    """Mark, building and property of each repair, asked for in parts of a size that every
    database takes."""
    pks = [life.repair_id for group in report.groups for life in group.lives]
    found: dict[int, tuple[str, ...]] = {}
    for start in range(0, len(pks), 10_000):
        rows = Repair.objects.filter(pk__in=pks[start : start + 10_000]).order_by()
        for pk, *words in rows.values_list(
            "pk", "member__mark", "member__building__name", "member__building__property__name"
        ):
            found[pk] = tuple(words)
    return found

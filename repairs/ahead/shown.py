"""An outlook laid out for page and PDF: rows, figures, drawing, moves and offers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from config.figures import Figure
from repairs.ahead.chart import Chart, Column, chart_of
from repairs.ahead.figures import Job, MoveEffect, Outlook, PutOff, YearLine
from repairs.ahead.opened import job_figure, saves_figure, total_figures
from repairs.ahead.words import (
    JOB,
    WORK,
    Row,
    count,
    expected,
    has_work,
    lead,
    month_rows,
    total_row,
    year_rows,
)
from repairs.due.words import capital

MOST_JOBS = 500
ONE_ACCESS = "One access for all of it"


@dataclass(frozen=True)
class Late:
    """Work that a move puts off."""

    mark: str
    what: str
    from_year: int
    to_year: int
    risk: str


@dataclass(frozen=True)
class ShownMove:
    """A saved move, or one that is offered; `fills` is what a new move is filled with."""

    pk: int | None
    title: str
    words: str
    reason: str
    saves: Figure | None
    later: tuple[Late, ...]
    to_year: int
    fills: str


@dataclass(frozen=True)
class Shown:
    outlook: Outlook
    lead: str
    rows: list[Row]
    total: Row
    months: list[Row]
    figures: list[Figure]
    unpriced: list[str]
    chart: Chart | None
    moves: list[ShownMove]
    offers: list[ShownMove]

    @property
    def has_work(self) -> bool:
        return has_work(self.outlook)

    @property
    def currency(self) -> str:
        return self.outlook.currency


@dataclass(frozen=True)
class ShownJob:
    mark: str
    place: str
    what: str
    month: str
    cost: Figure | None
    money_from: str
    why: str
    url: str


@dataclass(frozen=True)
class ShownYear:
    name: str
    months: list[Row]
    jobs: list[ShownJob]
    more: bool


def show_outlook(outlook: Outlook, offers: Iterable[MoveEffect] = (), kept: str = "") -> Shown:
    """`kept` is the query that links carry along, such as `?years=20`."""
    level, currency = outlook.level, outlook.currency
    return Shown(
        outlook=outlook,
        lead=lead(outlook),
        rows=year_rows(outlook),
        total=total_row(outlook),
        months=month_rows((month for line in outlook.lines for month in line.months), currency),
        figures=total_figures(outlook) if outlook.today else [],
        unpriced=[f"{count(each.number, WORK[each.kind])}: {each.begin}" for each in
                  outlook.unpriced],
        chart=chart_of(
            [Column(line.year, line.likely_by_kind, line.today.low, line.today.high)
             for line in outlook.lines],
            currency, level.budget.likely, level.balances,
        ),
        moves=[show_move(each, currency) for each in outlook.moves],
        offers=[show_move(each, currency, kept) for each in offers],
    )  # fmt: skip


def show_move(effect: MoveEffect, currency: str, kept: str = "") -> ShownMove:
    move = effect.move
    fills = {
        "elevation": move.elevation_id, "member": move.member_id, "kind": move.kind,
        "first_year": move.first_year, "last_year": move.last_year, "to_year": move.to_year,
        "reason": move.reason or ONE_ACCESS,
    }  # fmt: skip
    return ShownMove(
        pk=move.pk,
        title=str(move),
        words=effect.words,
        reason=move.reason,
        saves=saves_figure(effect, currency),
        later=tuple(_late(each) for each in effect.later),
        to_year=move.to_year,
        fills=f"{kept or '?'}{'&' if kept else ''}{urlencode(_known(fills))}",
    )


def _known(fills: Mapping[str, object]) -> dict[str, object]:
    return {name: value for name, value in fills.items() if value}


def _late(put_off: PutOff) -> Late:
    return Late(
        put_off.mark, JOB[put_off.kind], put_off.from_year, put_off.to_year, capital(put_off.risk)
    )


def show_year(line: YearLine, jobs: Sequence[Job], currency: str) -> ShownYear:
    return ShownYear(
        name=str(line.year),
        months=month_rows(line.months, currency),
        jobs=[show_job(job, currency) for job in jobs[:MOST_JOBS]],
        more=len(jobs) > MOST_JOBS,
    )


def show_job(job: Job, currency: str) -> ShownJob:
    part = "" if job.number == 1 else f", {expected(job.number)} expected"
    moved = "" if job.moved_from is None else f"; moved from {job.moved_from}"
    return ShownJob(
        mark=job.mark or job.place,
        place=job.place if job.mark else "",
        what=f"{JOB[job.kind]}{part}",
        month=f"{job.on:%B}",
        cost=job_figure(job, currency),
        money_from=job.money_from,
        why=f"{job.why}{moved}",
        url=job.url,
    )

"""Which years' work on one elevation to do from one scaffold.

Numbers in, numbers out: years with the count of jobs in each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

MOST_APART = 2


@dataclass(frozen=True)
class Bundle:
    """Work of the years from `first` to `last`, all in one of `years`, that to which the jobs move
    the least first; `visits` are saved."""

    first: int
    last: int
    years: tuple[int, ...]
    visits: int

    @property
    def year(self) -> int:
        return self.years[0]


def bundles(jobs: Mapping[int, int], most_apart: int = MOST_APART) -> Iterator[Bundle]:
    """Every run of two or more years with work that one visit can take in, the runs of most
    visits first. `jobs` counts the jobs of each year; years of none may be left out.

    ValueError for a distance below 1."""
    if most_apart < 1:
        raise ValueError("Years are put together over at least one year.")
    years = sorted(year for year, count in jobs.items() if count > 0)
    found = []
    for at, first in enumerate(years):
        for end in range(at + 1, len(years)):
            run = years[at : end + 1]
            near = _near({each: jobs[each] for each in run}, most_apart)
            if near:
                found.append(Bundle(first, run[-1], near, len(run) - 1))
    yield from sorted(found, key=lambda each: (-each.visits, each.last - each.first, each.first))


def _near(jobs: Mapping[int, int], most_apart: int) -> tuple[int, ...]:
    first, last = min(jobs), max(jobs)
    near = [year for year in jobs if last - year <= most_apart and year - first <= most_apart]
    moved = {year: sum(abs(year - each) * count for each, count in jobs.items()) for year in near}
    return tuple(sorted(near, key=lambda year: (moved[year], year)))


def apart(found: Iterator[Bundle]) -> list[Bundle]:
    """The first of those that share no year, in the order given."""
    chosen: list[Bundle] = []
    for each in found:
        if all(each.last < other.first or each.first > other.last for other in chosen):
            chosen.append(each)
    return chosen

"""One page of the diary, and the years that it runs through."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import date

from django.core.paginator import Page, Paginator

from .entries import days, happenings, read
from .entry_words import Entry, entry_of
from .scope import Scope

PER_PAGE = 50


@dataclass(frozen=True)
class YearOfDiary:
    year: int
    count: int


@dataclass(frozen=True)
class DiaryPage:
    """`page` is a page of days, one for each entry; `years` are those of the whole diary."""

    entries: tuple[Entry, ...]
    page: Page[date]
    years: tuple[YearOfDiary, ...]
    first: date | None
    last: date | None


def diary_page(
    scope: Scope, subject: str, year: int | None, number: str, oldest_first: bool
) -> DiaryPage:
    whole = days(scope, subject)
    shown = [day for day in whole if year is None or day.year == year]
    page = Paginator(shown, PER_PAGE).get_page(number)
    rows = happenings(_within_year(scope, year), subject, newest_first=not oldest_first)
    years = Counter(day.year for day in whole)
    start = (page.number - 1) * PER_PAGE
    found = read(rows[start : start + PER_PAGE]) if shown else []
    return DiaryPage(
        entries=tuple(entry_of(row, scope) for row in found),
        page=page,
        years=tuple(YearOfDiary(*each) for each in sorted(years.items())),
        first=whole[0] if whole else None,
        last=whole[-1] if whole else None,
    )  # fmt: skip


def _within_year(scope: Scope, year: int | None) -> Scope:
    if year is None:
        return scope
    first, last = date(year, 1, 1), date(year, 12, 31)
    return replace(
        scope, first=max(first, scope.first or first), last=min(last, scope.last or last)
    )

"""How long repairs have lasted, spot by spot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta


@dataclass(frozen=True)
class Span:
    """One repair of a spot: the day it was done, and the day it was found failed, if it was."""

    done_on: date
    failed_on: date | None = None


@dataclass(frozen=True)
class Life:
    """How long one repair lasted; `ended_on` is empty while it lasts."""

    done_on: date
    ended_on: date | None

    def in_words(self) -> str:
        if self.ended_on is None:
            return "to date"
        return length_in_words(self.done_on, self.ended_on)


def lives(spans: Sequence[Span]) -> list[Life]:
    """A repair lasts until it is found failed or until the spot is repaired again, whichever
    comes first; the spans are in order of their days."""
    found = []
    for number, span in enumerate(spans, start=1):
        next_on = spans[number].done_on if number < len(spans) else None
        ends = [day for day in (span.failed_on, next_on) if day]
        found.append(Life(span.done_on, min(ends, default=None)))
    return found


def length_in_words(first: date, last: date) -> str:
    """Whole years from two years on, months from two months on, else days."""
    length = relativedelta(last, first)
    months = length.years * 12 + length.months
    if months >= 24 or (months >= 12 and length.months == 0):
        return _counted(length.years, "year")
    if months >= 2:
        return _counted(months, "month")
    return _counted((last - first).days, "day")


def _counted(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def lives_in_words(found: Sequence[Life]) -> str:
    """'lives 5 years and to date'; of one, 'lasting to date' or 'it lasted 9 months'."""
    words = [life.in_words() for life in found]
    if len(words) == 1:
        return "lasting to date" if found[0].ended_on is None else f"it lasted {words[0]}"
    return f"lives {', '.join(words[:-1])} and {words[-1]}"


def ordinal(number: int) -> str:
    names = {2: "second", 3: "third", 4: "fourth", 5: "fifth", 6: "sixth"}
    return names.get(number, f"{number}th")

"""The last day on which a lot may be used, and the rule that sets it. Dates of the local calendar.

The earliest of what is printed, the shelf life unopened (only where no expiry is printed) and
the life once opened. The expiry day itself is still valid (common practice, no source)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from dateutil.relativedelta import relativedelta

Rule = Literal["printed", "made", "received", "opened", "none"]

WORDS: dict[Rule, str] = {
    "printed": "the expiry printed on it",
    "made": "its shelf life unopened, counted from the day it was made",
    "received": "its shelf life unopened, counted from the day it was received",
    "opened": "its life once opened",
    "none": "no expiry and no shelf life is recorded",
}


@dataclass(frozen=True)
class LastUsableDay:
    """`day` is None where nothing sets one; such a lot is never past it."""

    day: date | None
    rule: Rule

    @property
    def words(self) -> str:
        return WORDS[self.rule]

    def usable(self, on: date) -> bool:
        return self.day is None or on <= self.day

    def days_past(self, on: date) -> int:
        """Whole days past the last usable day; 0 on that day and before."""
        return 0 if self.day is None else max((on - self.day).days, 0)


def last_usable_day(
    *,
    printed_expiry: date | None,
    made_on: date | None,
    received_on: date | None,
    opened_on: date | None,
    unopened_months: int | None,
    opened_months: int | None,
) -> LastUsableDay:
    """The earliest day that governs; of equal days the one named first.

    Shelf lives in whole months, 0 or more, else ValueError; None means not recorded. A month
    that is too short ends it on its last day: 31 August and 6 months give 28 February."""
    found: list[tuple[date, Rule]] = []
    if printed_expiry is not None:
        found.append((printed_expiry, "printed"))
    elif unopened_months is not None and (made_on or received_on) is not None:
        begins = made_on or received_on
        assert begins is not None
        found.append((_after(begins, unopened_months), "made" if made_on else "received"))
    if opened_on is not None and opened_months is not None:
        found.append((_after(opened_on, opened_months), "opened"))
    if not found:
        return LastUsableDay(None, "none")
    day, rule = min(found, key=lambda pair: pair[0])
    return LastUsableDay(day, rule)


def _after(day: date, months: int) -> date:
    if months < 0:
        raise ValueError("a shelf life is 0 months or more")
    return day + relativedelta(months=months)

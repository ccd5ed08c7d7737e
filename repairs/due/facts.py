"""What a rule for dates may ask: facts of a member, of what is looked at, of its place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta


def whole_years(since: date, on: date) -> int:
    """Years that are full on a day; 0 before it begins. What is of 29 February is a year old on
    28 February."""
    return max(relativedelta(on, since).years, 0)


@dataclass(frozen=True)
class LookFacts:
    """Values are those of the choices of the records; empty, or None, where not recorded. `age`
    is in whole years: of the repair for a look at it, of the coating for a look at it or a
    repaint, of the member for a look at the member. `condition` is the class of EN 16096 at the
    last look; `climate` the level of decay hazard of the place."""

    member_kind: str = ""
    exposure: str = ""
    finish: str = ""
    use_class: str = ""
    repair_kind: str = ""
    temporary: bool | None = None
    age: int | None = None
    condition: str = ""
    climate: str = ""

    def is_aged(self, first: int | None, before: int | None) -> bool:
        """Whether the age is known and from `first` up to, not including, `before`; either is
        open where None, and both None ask nothing."""
        if first is None and before is None:
            return True
        if self.age is None:
            return False
        return (first is None or self.age >= first) and (before is None or self.age < before)

"""What putting a job off risks, in words: how far the coating will have gone, how urgent the
damage is. Where nothing tells, it says so."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from properties.models import Member
from repairs.ahead.ground import Ground
from repairs.ahead.tasks import URGENCY_RISK
from repairs.ahead.works import REPAINT
from repairs.coating_life import WORST_CLASS, Band
from repairs.due.coats import DAYS_A_YEAR
from repairs.due.pace import Pace
from repairs.due.repaint_by_ratings import BEYOND, RepaintEstimate, repaint_estimates
from repairs.models.due_dates import DueKind

NOT_KNOWN = "how far its coating will have gone is not known: no ratings tell it"
PLANNED_WITHOUT_CLASS = "how urgent its damage is was not recorded"


def class_words(rating: Band) -> str:
    """In half classes, as an eye gives them; where even the low edge is at the end of the scale,
    that there is nothing worse."""
    low, likely, high = (
        f"{round(2 * each) / 2:g}" for each in (rating.low, rating.likely, rating.high)
    )
    if low == high:
        return f"class {likely}{', the worst there is' if float(low) == WORST_CLASS else ''}"
    return f"class {likely} ({low} to {high})"


class Risks:
    """Of some repaints and repairs that are put off; the coatings are read once for all."""

    def __init__(self, ground: Ground, repainted: Collection[int]) -> None:
        self.ground = ground
        self.estimates = self._estimates(repainted) if repainted else {}

    def of(
        self, is_date: bool, source: int, kind: int, to_year: int, painted: date | None = None
    ) -> str:
        """`painted` is when a coating that is still to be painted before is planned."""
        if kind == REPAINT:
            row = self.ground.rows.dates[source] if is_date else self.ground.tasks[source]
            return self._coating(row.place.member, to_year, painted)
        return URGENCY_RISK.get(self.ground.tasks[source].urgency, PLANNED_WITHOUT_CLASS)

    def _coating(self, member: int, to_year: int, painted: date | None) -> str:
        estimate = self.estimates.get(member)
        if estimate is None:
            return NOT_KNOWN
        age = date(to_year, 12, 31) - (painted or estimate.painted_on)
        years = max(age.days / DAYS_A_YEAR, 0)
        worn = class_words(estimate.curve.rating_at(years))
        coating = (
            f"the coating of {painted.year}, worn as the one now," if painted else "its coating"
        )
        words = (
            f"by the end of {to_year} {coating} is likely at {worn}; the rule paints at "
            f"{estimate.limit.normalize():f}"
        )
        return f"{words}; {BEYOND}" if estimate.is_beyond_age(years) else words

    def _estimates(self, members: Collection[int]) -> dict[int, RepaintEstimate]:
        paces: dict[int, Pace] = {}
        for source, row in enumerate(self.ground.rows.dates):
            if row.member_id in members and row.kind == DueKind.REPAINT:
                paces[row.member_id] = self.ground.paces[int(self.ground.pace_of[source])]
        found = Member.objects.with_place().filter(pk__in=list(paces))
        return repaint_estimates(found, paces)

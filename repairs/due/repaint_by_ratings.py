"""When a member is likely to need paint, by the ratings seen so far on it and on coatings like it;
and the planned repaint moved there, with a reason that a person can read and override."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from properties.models import Member
from repairs.coating_life import TOO_FEW, Degradation, Rated, fit
from repairs.due.coats import DAYS_A_YEAR, Coat, RatedOn, coats_alike, is_described
from repairs.due.facts_for import KnownOf
from repairs.due.intervals import add_months
from repairs.due.pace import Pace, day_by_rule, pace_for
from repairs.due.results import in_figures, whole_sentences
from repairs.due.series import NextStep, Series
from repairs.models import DueDate
from repairs.models.due_dates import DueKind

SetBy = DueDate.SetBy
# Beyond that a curve says no more than that it lasts: half as long again as the longest life that
# is published of any finish (20 years, Wood Handbook, Table 16-5); a choice, no source.
FURTHEST_YEARS = 30.0

NO_CLASS = "No class to repaint at is named in the rule, so ratings move no date."
NO_RULE = "No rule for repaints fits this member, so there is no class to reach."
BEYOND = "no coating so old was rated yet"
NOT_PAINTED = (
    "When the whole member was last painted is not recorded: ratings count from the next repaint."
)


@dataclass(frozen=True)
class NoEstimate:
    """Why there is none, and what to do."""

    words: str


@dataclass(frozen=True)
class RepaintEstimate:
    """When the coating is likely to reach the class at which the rule paints it. A date is None
    where the curve does not reach it within 30 years of painting. `day` is what the ratings ask
    for: the likely date and never beyond `latest`; where the class was reached or the latest day
    past, the day after the first look that found so; it is not yet moved into a season.
    `rule_day` is the day by the interval alone."""

    painted_on: date
    limit: Decimal
    low: date | None
    likely: date | None
    high: date | None
    day: date
    latest: date
    rule_day: date
    ratings: tuple[RatedOn, ...]
    curve: Degradation

    @property
    def newest(self) -> RatedOn | None:
        return self.ratings[-1] if self.ratings else None

    @property
    def words(self) -> str:
        """'Flaking 2 after 4 years: class 3 is likely in 2029 (2028 to 2031), by 3 looks here.'"""
        if self.is_reached:
            return f"{self._seen()}: class {in_figures(self.limit)} is reached."
        beyond = f"; {BEYOND}" if self.likely and self.is_beyond(self.likely) else ""
        return f"{self._seen()}: {self._expected()}, {self.curve.words}{beyond}."

    def _seen(self) -> str:
        newest = self.newest
        if newest is None:
            return f"Not rated yet since it was painted in {self.painted_on:%B %Y}"
        age = _age_in_words((newest.day - self.painted_on).days)
        return f"{newest.worst.name} {in_figures(newest.worst.rating)} after {age}"

    def _expected(self) -> str:
        limit = f"class {in_figures(self.limit)}"
        if self.likely is None:
            return f"{limit} is not in sight"
        return f"{limit} is likely in {self.expected_words}"

    @property
    def expected_words(self) -> str:
        """'2029 (2028 to 2031)'"""
        if self.is_reached:
            return "reached"
        if self.likely is None:
            return f"not in sight ({_span(self.low, None)})"
        return f"{self.likely.year} ({_span(self.low, self.high)})"

    def is_beyond(self, day: date) -> bool:
        """Whether the coating is older then, by more than half a year, than any that was rated of
        all that it rests on: from there the curve is only reckoned on."""
        return self.is_beyond_age(_years(self.painted_on, day))

    def is_beyond_age(self, years: float) -> bool:
        return years > self.curve.oldest + 0.5

    @property
    def is_reached(self) -> bool:
        return self.newest is not None and self.newest.worst.rating >= self.limit

    @property
    def at_latest_words(self) -> str:
        if self.day < self.latest:
            return ""
        by = f"However good the ratings, painted by {_day(self.latest)}"
        if self.newest is None or self.newest.day < self.latest:
            return by
        return f"{by}: past when it was looked at, so the day after that look"


def repaint_estimate(member: Member, pace: Pace | None = None) -> RepaintEstimate | None:
    """For one member; None where there is none, of which `estimate_or_why` says why."""
    found = estimate_or_why(member, pace)
    return found if isinstance(found, RepaintEstimate) else None


def estimate_or_why(member: Member, pace: Pace | None = None) -> RepaintEstimate | NoEstimate:
    """`pace` is that of its repaints, if it is known already."""
    pace = pace or pace_for(member, DueKind.REPAINT)
    if why := _why_none(pace):
        return NoEstimate(why)
    return _estimate(member, pace, coats_alike([member]))


def repaint_estimates(
    members: Iterable[Member], paces: Mapping[int, Pace]
) -> dict[int, RepaintEstimate]:
    """For many members, by their key; those without an estimate are left out. `paces` are those
    of their repaints. Coatings are read once for each finish and exposure."""
    groups: dict[tuple[str, str], list[Member]] = defaultdict(list)
    for member in members:
        if member.pk in paces and not _why_none(paces[member.pk]):
            # Of a member not described nothing is like: it stands by itself.
            alone = (str(member.pk), "")
            alike = (member.finish, member.exposure) if is_described(member) else alone
            groups[alike].append(member)
    found = {}
    for group in groups.values():
        coats = coats_alike(group)
        for member in group:
            estimate = _estimate(member, paces[member.pk], coats)
            if isinstance(estimate, RepaintEstimate):
                found[member.pk] = estimate
    return found


def _why_none(pace: Pace) -> str:
    if pace.rule is None:
        return NO_RULE
    return NO_CLASS if pace.rule.repaint_at is None else ""


def _estimate(
    member: Member, pace: Pace, coats: Mapping[int, list[Coat]]
) -> RepaintEstimate | NoEstimate:
    rule, series = pace.rule, pace.series()
    if member.pk not in coats:
        return NoEstimate(NOT_PAINTED)
    assert rule is not None
    assert rule.repaint_at is not None
    assert series is not None
    own = coats[member.pk][-1]
    like = [coat.rated() for of in coats.values() for coat in of if coat is not own]
    rule_day = series.day(own.painted_on, 0)
    expected = Rated(_years(own.painted_on, rule_day), float(rule.repaint_at))
    curve = fit(own.rated(), like, expected)
    if curve is None:
        return NoEstimate(TOO_FEW)
    latest = _latest(pace, series, own.painted_on, rule_day)
    return _told(own, curve, rule.repaint_at, latest, rule_day)


def _latest(pace: Pace, series: Series, painted_on: date, rule_day: date) -> date:
    """By the rule; where it names none, at twice its interval: a choice, no source."""
    months = pace.rule.latest_months if pace.rule else None
    if months is not None:
        return max(add_months(painted_on, months), rule_day)
    return rule_day + (rule_day - painted_on)


def _told(
    own: Coat, curve: Degradation, limit: Decimal, latest: date, rule_day: date
) -> RepaintEstimate:
    band = curve.years_to(float(limit))
    low, likely, high = (
        _date_after(own.painted_on, years) for years in (band.low, band.likely, band.high)
    )
    day = min(likely or latest, latest)
    if own.ratings:
        asking = _first_asking(own.ratings, limit, latest)
        after = (asking or own.ratings[-1]).day + timedelta(days=1)
        day = after if asking else max(day, after)
    return RepaintEstimate(
        own.painted_on, limit, low, likely, high, day, latest, rule_day, own.ratings, curve
    )


def _first_asking(ratings: Sequence[RatedOn], limit: Decimal, latest: date) -> RatedOn | None:
    """The first of the newest looks that all ask for paint at once: another look at a coat that
    is overdue makes it no less so."""
    asking = None
    for rated in reversed(ratings):
        if rated.worst.rating < limit and rated.day < latest:
            break
        asking = rated
    return asking


def _years(first: date, last: date) -> float:
    return (last - first).days / DAYS_A_YEAR


def _date_after(painted_on: date, years: float | None) -> date | None:
    if years is None or years > FURTHEST_YEARS:
        return None
    return painted_on + timedelta(days=round(years * DAYS_A_YEAR))


def _span(low: date | None, high: date | None) -> str:
    """'2028 to 2031', '2028 or later'."""
    if low is None:
        return "no end in sight"
    if high is None:
        return f"{low.year} or later"
    if low.year == high.year:
        return f"{low:%B} to {high:%B}" if low.month != high.month else f"{low:%B}"
    return f"{low.year} to {high.year}"


def _age_in_words(days: int) -> str:
    months = round(days / DAYS_A_YEAR * 12)
    if months >= 24:
        return f"{round(months / 12)} years"
    if months == 0:
        return "less than a month"
    return "1 month" if months == 1 else f"{months} months"


def _day(day: date) -> str:
    return f"{day:%-d %B %Y}"


# The planned repaint


def move_repaint(member: Member, known: KnownOf | None = None) -> list[DueDate]:
    """Move the planned repaint of a member to the day that all its ratings ask for, and back to
    the rule's own day where they no longer ask for any. Returns what was moved. `known` is what
    was read of the member already.

    A day that a person set, and one by a person's own interval for the member, is never moved."""
    planned = DueDate.objects.outstanding().filter(member=member, kind=DueKind.REPAINT)
    by_nobody = planned.exclude(set_by=SetBy.PERSON).exclude(rule=None).select_related("repair")
    moved = []
    for due in by_nobody:
        due.member = member
        pace = pace_for(member, DueKind.REPAINT, due.repair, known)
        if pace.own is None and pace.rule is not None and _moves(due, pace, member):
            moved.append(due)
    return moved


def _moves(due: DueDate, pace: Pace, member: Member) -> bool:
    estimate = repaint_estimate(member, pace)
    series = pace.series()
    assert series is not None
    own_day = NextStep(due.step, series.day(due.counted_from, due.step), due.counted_from)
    by_rule = day_by_rule(pace, own_day, due.counted_from)
    newest = estimate.newest if estimate else None
    if estimate is None or newest is None:
        if due.set_by != SetBy.RATINGS:
            return False
        return _place(due, by_rule, pace.because(by_rule), SetBy.RULE)
    asked = NextStep(due.step, estimate.day, due.counted_from)
    since = min(newest.day, estimate.day - timedelta(days=1))
    found = day_by_rule(pace, asked, since, not_before=since)
    why = whole_sentences(
        estimate.words, estimate.at_latest_words, f"By rule it was {_day(by_rule.due_on)}",
        *found.moved.split(". "),
    )  # fmt: skip
    return _place(due, found, why, SetBy.RATINGS)


def _place(due: DueDate, found: NextStep, why: str, set_by: SetBy) -> bool:
    if (due.due_on, due.set_because, due.set_by) == (found.due_on, why[:300], set_by):
        return False
    due.move(found.due_on, why, set_by)
    return True

"""What the years ahead rest on, in sentences, for page, PDF and workbook alike."""

from __future__ import annotations

from collections.abc import Iterator

from properties.models import Elevation
from repairs.ahead.figures import Asked
from repairs.ahead.ground import Ground
from repairs.ahead.tasks import URGENCY_YEARS, Left
from repairs.ahead.works import LOOK, Works

COUNTED = (
    "Looks and repaints fall on the dates that stand and, after them, by the rules as if each were "
    "kept on its day; what is overdue counts in the first month. A repair to come brings no looks "
    "of its own here."
)
ACCESS = (
    "Access is counted once for each elevation and year with repaints or repairs, in the month of "
    "the first. From the ground there is none; a ladder counts only where a rate or the past gives "
    "it a price. Looks need no access of their own: they are made from below, or while it stands."
)
EXPECTED_ACCESS = (
    "For failures that are only expected, access counts as the part of a visit that they make "
    "likely, and not at all in a year in which it stands anyway."
)
PRICES = (
    "The likely price of a job is the middle of what its like cost on the building, low and high "
    "the least and the most; where it has no past, the rate that was typed. What has neither is "
    "counted and not priced."
)
FIRST_DATES = "“Set all dates anew by the rules”, under Inspections, sets a first look."
BANDS = (
    "Low and high are sums of the lows and of the highs. That is no confidence band: not every job "
    "comes out cheapest, or dearest, at once."
)


def notes_of(ground: Ground, work: Works, currencies: int) -> tuple[str, ...]:
    return tuple(_notes(ground, work, currencies))


def _notes(ground: Ground, work: Works, currencies: int) -> Iterator[str]:
    asked = ground.asked
    yield _span(asked)
    yield COUNTED
    if ground.rows.undated:
        yield _undated(ground.rows.undated)
    yield URGENCY_YEARS
    yield from _left(ground.left)
    yield ground.curves.words()
    yield PRICES
    yield ground.prices.index_words
    if ground.prices.as_paid:
        yield _as_paid(ground.prices.as_paid)
    yield ACCESS
    if (work.spread == 1).any():
        yield EXPECTED_ACCESS
    yield from _places(ground, work)
    yield BANDS
    yield _rise(asked)
    yield from _reserve(asked, currencies)


def _span(asked: Asked) -> str:
    if asked.first.month == 1 and asked.first.day == 1:
        return f"Calendar years {asked.first.year} to {asked.last_year}."
    return (
        f"Calendar years {asked.first.year} to {asked.last_year}; the first counts from "
        f"{asked.first:%-d %B} on. The level budget and the payments into a reserve count it as a "
        "year like the others."
    )


def _undated(count: int) -> str:
    if count == 1:
        return f"1 member in place has no date at all, and nothing of it is counted. {FIRST_DATES}"
    return (
        f"{count:,} members in place have no date at all, and nothing of them is counted. "
        f"{FIRST_DATES}"
    )


def _left(left: Left) -> Iterator[str]:
    told = [
        (left.long_term, "of class UC0, long term"),
        (left.not_classed, "without an urgency class"),
        (left.watched, "that are only watched"),
    ]
    parts = [f"{count:,} {words}" for count, words in told if count]
    if parts:
        yield f"Open defects not counted: {', '.join(parts)}."


def _as_paid(count: int) -> str:
    jobs = "1 earlier job is" if count == 1 else f"{count:,} earlier jobs are"
    return f"{jobs} of a year that the price index does not have, and counted as paid."


def _places(ground: Ground, work: Works) -> Iterator[str]:
    import numpy as np

    done = work.only(work.kind != LOOK)
    unknown = sum(
        ground.rows.elevations[face].access == Elevation.Access.UNKNOWN
        for face in np.unique(done.face).tolist()
        if face in ground.rows.elevations
    )
    if unknown:
        faces = "1 elevation" if unknown == 1 else f"{unknown:,} elevations"
        yield f"How {faces} with work are reached is not recorded; their access has no price."
    nowhere = len(np.unique(done.member[(done.face == 0) & (done.member != 0)]))
    if nowhere:
        members = "1 member" if nowhere == 1 else f"{nowhere:,} members"
        yield f"{members} with work stand on no elevation, so that no access is counted for them."


def _rise(asked: Asked) -> str:
    if asked.price_rise_pct is None:
        return "No rise of prices was typed, so that all is in today's money."
    rise = f"{asked.price_rise_pct.normalize():f}".replace("-", "−")
    return (
        f"Money of each year: today's, dearer by {rise} % for each year after {asked.first.year}, "
        "the rise that you typed."
    )


def _reserve(asked: Asked, currencies: int) -> Iterator[str]:
    yield (
        "The yearly payment into the reserve is the smallest with which it is never below nought "
        "at a year's end; it grows with prices. Interest of a year is on what lay there when it "
        "began; payments and costs fall at its end."
    )
    if asked.deposit_pct and asked.price_rise_pct is None:
        yield "Interest is counted while prices are taken not to rise: type a rise to compare."
    if asked.reserve_minor and currencies > 1:
        yield (
            "The reserve that you typed counts for none of these, since they are in more than one "
            "currency: ask for the properties of one."
        )

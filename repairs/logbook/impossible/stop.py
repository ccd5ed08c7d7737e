"""The remark that refuses, and the days that a record can have."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from decimal import Decimal

from repairs.logbook.placed import PlacedRemark, Where, placed
from repairs.remarks import Remark

WHOLE = Where()
# A clock set for another zone is at most this far ahead of ours.
AHEAD = timedelta(days=1)
EARLIEST = date(1800, 1, 1)


def stop(where: Where, code: str, found: str, limit: str, advice: str) -> PlacedRemark:
    return placed(
        where,
        Remark(
            code=code,
            level="stop",
            found=found,
            limit=limit,
            source="what is possible",
            advice=advice,
            holds=False,
        ),
    )


def times(
    where: Where, name: str, began: datetime, ended: datetime | None, at: datetime
) -> Iterator[PlacedRemark]:
    if ended is not None and ended < began:
        yield stop(
            where,
            "ends-before-it-begins",
            f"{name} ends before it begins.",
            "the end is at or after the beginning",
            "Correct one of the two times.",
        )
    if max(began, ended or began) > at + AHEAD:
        yield stop(
            where,
            "in-the-future",
            f"{name} lies in the future.",
            "only work that was done is logged",
            "Correct the day and the year.",
        )
    if began.date() < EARLIEST:
        yield stop(
            where,
            "too-long-ago",
            f"{name} began in {began.year}.",
            f"records begin in {EARLIEST.year}",
            "Correct the year.",
        )


def plain(amount: Decimal) -> str:
    return f"{amount.normalize():f}" if amount else "0"

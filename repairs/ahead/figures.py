"""What the years ahead are told in: by year and month, by job, by what is moved.

`repairs.ahead.outlook` fills these; page, PDF and workbook show them. Money is in minor units of
one currency; `today` is money of the first year, `nominal` money of each year itself. Expected
numbers are decimal: three tenths of a repair is a chance of three in ten."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from repairs.ahead.money import Band, rise_factor

if TYPE_CHECKING:
    from repairs.models import WorkMove

MOST_YEARS = 30


@dataclass(frozen=True)
class Asked:
    """Which years: calendar years from that of `first` on, the first from the month of `first`.
    `price_rise_pct` is in percent a year, None where nobody typed one; `reserve_minor` lies in the
    reserve at the beginning, `deposit_pct` is what it earns a year.

    ValueError for years out of 1 to 30, or a rise out of range."""

    first: date
    years: int = 10
    price_rise_pct: Decimal | None = None
    reserve_minor: int = 0
    deposit_pct: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        if not 1 <= self.years <= MOST_YEARS:
            raise ValueError(f"Ask for 1 to {MOST_YEARS} years.")
        if self.price_rise_pct is not None:
            rise_factor(self.price_rise_pct, 0)

    @property
    def last_year(self) -> int:
        return self.first.year + self.years - 1

    @property
    def every_year(self) -> range:
        return range(self.first.year, self.last_year + 1)


@dataclass(frozen=True)
class MonthLine:
    """`month` is its first day. `repairs` may be a part of one; `unpriced` counts as a year's."""

    month: date
    looks: int
    repaints: int
    repairs: Decimal
    today: Band
    unpriced: Decimal = Decimal(0)


@dataclass(frozen=True)
class YearLine:
    """All twelve months, those before the first day empty. `access_visits` counts an elevation
    once a year, however many jobs; where only failures that are expected need it, as the part of
    a visit that they make likely. `unpriced` counts jobs and visits without a price;
    `likely_by_kind` is what look, repaint, repair and access add to `today.likely`."""

    year: int
    months: tuple[MonthLine, ...]
    looks: int
    repaints: int
    repairs: Decimal
    access_visits: Decimal
    today: Band
    nominal: Band | None
    unpriced: Decimal
    likely_by_kind: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True)
class Job:
    """One job of one year. `kind` is look, repaint, repair or access; `number` is 1, or the part
    that is expected. `today` is None where it has no price, `money_from` then says what to type.
    `why` says what set it; `moved_from` the year it was moved from."""

    kind: str
    member_id: int | None
    mark: str
    place: str
    elevation_id: int | None
    on: date
    number: Decimal
    today: Band | None
    money_from: str
    why: str
    moved_from: int | None
    url: str


@dataclass(frozen=True)
class Unpriced:
    """Jobs of a kind without a price in all the years, and how to give one."""

    kind: str
    number: Decimal
    begin: str


@dataclass(frozen=True)
class PutOff:
    """One job done later than its year, and what that risks."""

    mark: str
    kind: str
    from_year: int
    to_year: int
    risk: str


@dataclass(frozen=True)
class MoveEffect:
    """What a move changes over the asked years, reckoned with it and without: `saves` is below
    nought where it costs more, None where nothing of it has a price; `access_saves` is what of it
    is access. `move` is not saved where it is only offered."""

    move: WorkMove
    jobs: int
    saves: Band | None
    access_visits_saved: Decimal
    later: tuple[PutOff, ...]
    words: str
    access_saves: Band | None = None


@dataclass(frozen=True)
class Level:
    """`budget` is the even yearly sum in today's money; `peak` the dearest year in today's money.
    `reserve` is the smallest yearly payment, in today's money and rising with prices, that never
    lets the reserve fall below nought with the likely costs, `reserve_high` with the high ones;
    `balances` what lies there at each year's end, in its own money, with `reserve`."""

    budget: Band
    peak_year: int
    peak: Band
    reserve: int
    reserve_high: int
    paid: tuple[tuple[int, int], ...]
    balances: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Outlook:
    """The years ahead of some properties of one currency. Notes say what is counted, what is not,
    and what it rests on."""

    title: str
    currency: str
    asked: Asked
    lines: tuple[YearLine, ...]
    today: Band
    nominal: Band | None
    unpriced: tuple[Unpriced, ...]
    moves: tuple[MoveEffect, ...]
    level: Level
    notes: tuple[str, ...]

    @property
    def years(self) -> int:
        return len(self.lines)

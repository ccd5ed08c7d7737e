"""The computed figures of a cost account, to be opened."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from config.figures import Figure, Formula, figure
from materials.money import show_bare, show_money
from repairs.costs.areas import (
    OF_BUILDINGS,
    OF_ELEVATION,
    ElevationCost,
    MeasuredBuildings,
    a_metre,
)
from repairs.costs.planned import PlannedRepair
from repairs.costs.recorded_life import A_YEAR, RecordedLife
from repairs.costs.todays_money import TodaysMoney, YearsMoney
from repairs.life_cycle.price_index import IN_TODAYS_MONEY
from repairs.plans.planned_money import PLANNED_MONEY

YEARS_ADDED_UP = Formula(
    words="Each year in the money of the newest year of the index, rounded to the smallest coin, "
    "and added up.",
    symbols="Σ amount · index(now) / index(then)",
    source=IN_TODAYS_MONEY.source,
    holds=IN_TODAYS_MONEY.holds,
)
TYPED_OPTION = Formula(
    words="What doing it once was said to cost among the options of the plan, access included.",
    symbols="once + access",
    source="this plan",
)
OVER = Formula(
    words="What was spent on the repair less what was planned; a share of what was planned.",
    symbols="spent − planned",
    source="arithmetic",
)
SAVED = Formula(
    words="What a new member was said to cost in the plan, access included, less what was spent "
    "on the repair. Both are nominal money of their own day.",
    symbols="new member − spent",
    source="this plan, and the cost lines of the repair",
    holds="where both are priced",
)

ADDED_UP = Formula(words="The rows added up.", symbols="Σ rows", source="arithmetic")


def number(value: Decimal) -> str:
    return f"{value.normalize():f}"


class Figures:
    """Of one account, in one currency."""

    def __init__(self, currency: str) -> None:
        self.currency = currency

    def money(self, minor: int | None) -> str:
        return "not known" if minor is None else show_money(minor, self.currency)

    def bare(self, minor: int) -> str:
        return show_bare(minor, self.currency)

    def year(self, year: YearsMoney, todays: TodaysMoney) -> Figure | None:
        now, index = todays.money_of, todays.index
        if year.minor is None or year.figure is None or now is None:
            return None
        return figure(
            f"{year.year} in money of {now}",
            self.bare(year.minor),
            IN_TODAYS_MONEY,
            (f"Paid in {year.year}", self.money(year.paid.minor)),
            (f"Index of {year.year}", number(year.figure)),
            (f"Index of {now}", number(index.figures[now])),
            ("Index", f"{index.name}; {index.source}"),
        )

    def todays(self, todays: TodaysMoney) -> Figure | None:
        if not todays.has_some:
            return None
        left_out = sum(each.paid.minor for each in todays.years if each.minor is None)
        covered = [
            (str(each.year), self.money(each.minor))
            for each in todays.years
            if each.minor is not None
        ]
        without = [(f"Left out: {todays.missing_in_words()}", self.money(left_out))]
        return figure(
            f"In money of {todays.money_of}",
            self.bare(todays.covered_minor),
            YEARS_ADDED_UP,
            *covered,
            *(without if todays.missing else ()),
            ("Index", f"{todays.index.name}; {todays.index.source}"),
        )

    def a_year(self, cost: int | None, life: RecordedLife) -> Figure | None:
        average = life.a_year(cost)
        if average is None:
            return None
        return figure(
            "A year of the recorded life",
            self.bare(average),
            A_YEAR,
            ("Cost", self.money(cost)),
            ("Recorded life", life.in_words()),
            ("Years", f"{float(life.years):.2f}"),
        )

    def a_metre(self, measured: MeasuredBuildings) -> Figure | None:
        if measured.a_metre_minor is None:
            return None
        return figure(
            "A square metre of elevation",
            self.bare(measured.a_metre_minor),
            OF_BUILDINGS,
            ("Cost", self.money(measured.minor)),
            ("Area", f"{number(measured.area_m2)} m²"),
            ("Buildings", f"{measured.count} of {measured.of}"),
        )

    def a_metre_today(self, measured: MeasuredBuildings, todays: TodaysMoney) -> Figure | None:
        """None unless every building is measured and every year is in the index."""
        cost = todays.total_minor
        metre = a_metre(cost, measured.area_m2 if measured.count else None)
        if metre is None or measured.count != measured.of:
            return None
        return figure(
            f"A square metre of elevation, in money of {todays.money_of}",
            self.bare(metre),
            OF_BUILDINGS,
            ("Cost", self.money(cost)),
            ("Area", f"{number(measured.area_m2)} m²"),
        )

    def of_elevation(self, cost: ElevationCost) -> Figure | None:
        if cost.a_metre_minor is None or cost.area_m2 is None:
            return None
        return figure(
            f"{cost.share.label}, a square metre",
            self.bare(cost.a_metre_minor),
            OF_ELEVATION,
            ("Cost", self.money(cost.share.minor)),
            ("Area", f"{number(cost.area_m2)} m²"),
        )

    def planned(self, each: PlannedRepair) -> Figure | None:
        reckoned = each.reckoned
        parts = (
            ("Labour", self.money(reckoned.labour)),
            ("Access", self.money(reckoned.access)),
            ("Material", self.money(reckoned.material)),
        )
        if reckoned.total is not None:
            return figure("Planned", self.bare(reckoned.total), PLANNED_MONEY, *parts)
        if each.typed_minor is None:
            return None
        typed = ("As typed among the options", self.money(each.typed_minor))
        return figure("Planned", self.bare(each.typed_minor), TYPED_OPTION, typed, *parts)

    def typed(self, minor: int) -> Figure:
        typed = ("As typed among the options", self.money(minor))
        return figure("A new member", self.bare(minor), TYPED_OPTION, typed)

    def added_up(self, name: str, rows: Iterable[tuple[str, int | None]]) -> Figure:
        told = [(label, minor) for label, minor in rows if minor is not None]
        inputs = [(label, self.money(minor)) for label, minor in told]
        return figure(name, self.bare(sum(minor for _, minor in told)), ADDED_UP, *inputs)

    def over(self, planned: int, spent: int) -> Figure:
        return figure(
            "Over or under",
            self.bare(spent - planned),
            OVER,
            ("Planned", self.money(planned)),
            ("Spent", self.money(spent)),
            ("Of what was planned", percent_over(planned, spent)),
        )

    def saved(self, replace: int, spent: int) -> Figure:
        return figure(
            "Saved",
            self.bare(replace - spent),
            SAVED,
            ("A new member", self.money(replace)),
            ("Spent on the repair", self.money(spent)),
        )


def share_over(planned: int, spent: int) -> Decimal | None:
    """In percent of what was planned, to a tenth; None where nothing was planned to be spent."""
    if planned == 0:
        return None
    return (Decimal(100 * (spent - planned)) / planned).quantize(Decimal("0.1"))


def percent_over(planned: int, spent: int) -> str:
    """`12.5 % over`, `3 % under`, `as planned`."""
    share = share_over(planned, spent)
    if share is None:
        return "nothing was planned"
    if share == 0:
        return "as planned"
    return f"{number(abs(share))} % {'over' if share > 0 else 'under'}"

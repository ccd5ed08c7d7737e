"""The worked example of tests/reference/life_cycle.csv, and options drawn by chance."""

from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from repairs.life_cycle.compare import Comparison, Option, compare

RATE, RISE, YEARS = 0.035, 0.03, 30
REPAIR = Option("repair", "Repair", 420, 300, 10, repaint=180, repaint_years=5)
REPLACE = Option("replace", "Replace", 1850, 300, 30, repaint=180, repaint_years=6)
SPLICE = Option("splice", "Splice", 900, 300, 20, repaint=180, repaint_years=6)
WATCH = Option("watch", "Watch", 20, 0, 4, upkeep=25)


def lasting(years: float, option: Option = REPAIR) -> Option:
    return replace(option, life_years=years)


def compared(*options: Option, **changes: Any) -> Comparison:
    how = {"study_years": YEARS, "real_rate": RATE, "price_rise": RISE, **changes}
    return compare(options or (REPAIR, REPLACE), **how)


def any_option(kind: str) -> st.SearchStrategy[Option]:
    cost = st.floats(0, 10_000)
    tenths = st.integers(1, 400)

    def make(first: float, access: float, lives: list[int], upkeep: float, repaint: float,
             cycle: int | None, spread: float) -> Option:  # fmt: skip
        low, life, high = sorted(lives)
        every = None if cycle is None else cycle / 10
        return Option(kind, kind.title(), first, access, life / 10, low / 10, high / 10, upkeep,
                      repaint, every, spread)  # fmt: skip

    lives = st.lists(tenths, min_size=3, max_size=3)
    cycles = st.none() | st.integers(5, 300)
    return st.builds(make, cost, cost, lives, cost, cost, cycles, st.floats(0, 1))


sets_of_options = st.sets(
    st.sampled_from(["repair", "splice", "replace", "watch"]), min_size=1
).flatmap(lambda kinds: st.tuples(*(any_option(kind) for kind in sorted(kinds))))
real_rates = st.sampled_from([0.0, 0.035]) | st.floats(-0.05, 0.25)
studies = st.integers(1, 100)

"""How many of the repairs in place are likely to fail in each year ahead, from how long the
repairs of the user's own record have lasted.

Nobody's figure stands in where the record tells too little: then nothing is expected, and the
page says so. Past the longest life that was observed nothing is known either; the curve is taken
as flat from there, so that no failure is counted that nobody has seen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from config.figures import Formula
from repairs.survival import Survival

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]

DAYS_OF_A_YEAR = 365.2425
MILLION = 1_000_000

EXPECTED_FAILURES = Formula(
    "Of repairs as old as this one, the share that fails during the year, by how long the repairs "
    "of your own record have lasted; added up over all repairs in place.",
    "(S(a + k) − S(a + k + 1)) / S(a), S by Kaplan and Meier, a the age at the first day",
    "conditional probability from the survival curve; Kaplan and Meier 1958, J. Am. Stat. Assoc. "
    "53, 457",
    "up to the longest life observed, flat beyond; only the next failure of each repair",
)


def shares_at(curve: Survival, years: Numbers) -> Numbers:
    """The share still sound (0 to 1) after so many years, 0 or more; 1 before the first failure,
    flat after the last step. A repair that fails at the year itself no longer counts."""
    import numpy as np

    at = np.array([step.years for step in curve.steps])
    share = np.array([1.0, *(step.share for step in curve.steps)])
    return share[np.searchsorted(at, years, side="right")]


def millionths_failing(
    curve: Survival, ages_days: Sequence[int] | NDArray[np.int64], edges_days: Sequence[int]
) -> NDArray[np.int64]:
    """For each repair of an age in days and each span between two edges, days from now, the chance
    in millionths that it fails in that span. Nought where none of that age is still sound."""
    import numpy as np

    ages = np.asarray(ages_days, dtype=np.float64)[:, None]
    sound = shares_at(curve, (ages + np.asarray(edges_days)[None, :]) / DAYS_OF_A_YEAR)
    now = shares_at(curve, ages / DAYS_OF_A_YEAR)
    falling = sound[:, :-1] - sound[:, 1:]
    chance = np.divide(falling, now, out=np.zeros_like(falling), where=now > 0)
    found: NDArray[np.int64] = np.rint(chance * MILLION).astype(np.int64)
    return found

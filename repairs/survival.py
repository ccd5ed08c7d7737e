"""How long repairs last: the share still sound after so many years, and whether two groups
differ, where many have not failed yet.

A repair that is sound to date, or went with its member or its property while sound, is censored:
it lasted at least so long, and is counted among those at risk until then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from config.figures import Formula

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Lives = tuple[NDArray[np.float64], NDArray[np.bool_]]

FEWEST_REPAIRS = 10
FEWEST_FAILURES = 3
CONFIDENCE = 0.95
ROUNDING = 1e-12

FEW_WORDS = (
    f"A curve is drawn from {FEWEST_REPAIRS} repairs on of which {FEWEST_FAILURES} have failed "
    "(common practice, no source)"
)
SHARE_STILL_SOUND = Formula(
    words="at each failure the share still sound falls by those that failed out of those that "
    "were at risk that day",
    symbols="S(t) = Π (1 − d / n) over all failures up to t; band: S^exp(± 1.96 × "
    "√(Σ d / (n (n − d))) / ln S)",
    source="Kaplan and Meier 1958, J. Am. Stat. Assoc. 53, 457; band after Kalbfleisch and "
    "Prentice 1980; computed with scipy.stats.ecdf",
    holds=f"from {FEWEST_REPAIRS} repairs with {FEWEST_FAILURES} failures on; those that left "
    "sound must not have been about to fail",
)
MEDIAN_LIFE = Formula(
    words="the first time at which half or fewer are still sound; its band runs from where the "
    "lower edge of the curve's band reaches one half to where the upper edge does",
    symbols="the least t with S(t) ≤ 0.5",
    source="Brookmeyer and Crowley 1982, Biometrics 38, 29",
    holds="once half have failed; until then it is not reached",
)
LOG_RANK = Formula(
    words="failures of one group against those to be expected if both groups failed alike, over "
    "all days with a failure",
    symbols="z = Σ (d₁ − d n₁ / n) / √Σ (n₁ n₂ d (n − d) / (n² (n − 1))); p from the normal "
    "distribution, both sides",
    source="Mantel 1966, Cancer Chemother. Rep. 50, 163; computed with scipy.stats.logrank",
    holds=f"where each group has {FEWEST_REPAIRS} repairs and {FEWEST_FAILURES} have failed in "
    "all, and the curves do not cross",
)


@dataclass(frozen=True, slots=True)
class Step:
    """One time at which a repair failed or left: `share` is still sound after it. `low` and
    `high` are the band, None where it is not defined: before the first failure, and at nought."""

    years: float
    share: float
    low: float | None
    high: float | None
    at_risk: int
    failed: int
    censored: int


@dataclass(frozen=True)
class Survival:
    """The lives of one group. `steps` is empty where there are too few for a curve; `median` and
    its two limits are None where they are not reached."""

    count: int
    failed: int
    steps: tuple[Step, ...] = ()
    median: float | None = None
    median_low: float | None = None
    median_high: float | None = None

    @property
    def is_enough(self) -> bool:
        return bool(self.steps)

    @property
    def longest(self) -> float:
        return self.steps[-1].years if self.steps else 0.0

    def at(self, years: float) -> Step | None:
        """The step that holds after so many years; None before the first, or past the last that
        was observed."""
        if years > self.longest:
            return None
        return next((step for step in reversed(self.steps) if step.years <= years), None)

    def at_risk(self, years: float) -> int:
        """How many were observed for so long or longer."""
        return next((step.at_risk for step in self.steps if step.years >= years), 0)


@dataclass(frozen=True)
class LogRank:
    """Two groups compared: `z` is above 0 where the first failed more than was to be expected."""

    z: float
    p: float

    @property
    def chi_square(self) -> float:
        return self.z**2


def survival(years: Sequence[float], failed: Sequence[bool]) -> Survival:
    """The Kaplan-Meier estimate with its 95 % band. `years` (0 or more) is how long each repair
    was observed, `failed` whether it failed then; else it was sound when it was last known.

    Raises ValueError for lists of unlike length, and for years below 0 or not finite."""
    times, events = _checked(years, failed)
    count, failures = len(times), int(events.sum())
    if count < FEWEST_REPAIRS or failures < FEWEST_FAILURES:
        return Survival(count, failures)
    steps = _steps(times, events)
    half = 0.5 + ROUNDING
    return Survival(
        count,
        failures,
        steps,
        median=next((s.years for s in steps if s.share <= half), None),
        median_low=next((s.years for s in steps if s.low is not None and s.low <= half), None),
        median_high=next((s.years for s in steps if s.high is not None and s.high <= half), None),
    )


def log_rank(
    years: Sequence[float],
    failed: Sequence[bool],
    other_years: Sequence[float],
    other_failed: Sequence[bool],
) -> LogRank | None:
    """The two-sided log-rank test, without weights; None where there are too few, or where no
    failure fell while both groups were observed. Units and errors as for `survival`."""
    import numpy as np
    from scipy.stats import CensoredData, logrank

    first, second = _checked(years, failed), _checked(other_years, other_failed)
    failures = int(first[1].sum() + second[1].sum())
    if min(len(first[0]), len(second[0])) < FEWEST_REPAIRS or failures < FEWEST_FAILURES:
        return None
    samples = [CensoredData.right_censored(times, ~events) for times, events in (first, second)]
    # Where no failure fell while both were at risk, it divides by nought and the answer is none.
    with np.errstate(all="ignore"):
        found = logrank(*samples)
    z, p = float(found.statistic), float(found.pvalue)
    return LogRank(z, p) if np.isfinite(z) else None


def _checked(years: Sequence[float], failed: Sequence[bool]) -> Lives:
    import numpy as np

    times, events = np.asarray(years, dtype=np.float64), np.asarray(failed, dtype=np.bool_)
    if times.shape != events.shape or times.ndim != 1:
        raise ValueError("There must be one answer, failed or not, for each life.")
    if not np.isfinite(times).all() or (times < 0).any():
        raise ValueError("A life is 0 years or more.")
    return times, events


def _steps(times: NDArray[np.float64], events: NDArray[np.bool_]) -> tuple[Step, ...]:
    import numpy as np
    from scipy.stats import CensoredData, ecdf

    curve = ecdf(CensoredData.right_censored(times, ~events)).sf
    at = curve.quantiles
    low, high = _band(curve)
    gone_before = np.searchsorted(np.sort(times), at, side="left")
    failures = np.sort(times[events])
    failed_by = np.searchsorted(failures, at, side="right")
    failed_before = np.searchsorted(failures, at, side="left")
    at_risk = len(times) - gone_before
    failed_here = failed_by - failed_before
    leaving = np.diff(np.append(gone_before, len(times)))
    rows = zip(
        at.tolist(), curve.probabilities.tolist(), low, high, at_risk.tolist(),
        failed_here.tolist(), (leaving - failed_here).tolist(), strict=True,
    )  # fmt: skip
    return tuple(Step(*row) for row in rows)


def _band(curve: object) -> tuple[list[float | None], list[float | None]]:
    """The log-log band of a curve of scipy's, None where it is not defined."""
    import warnings

    import numpy as np

    with warnings.catch_warnings(), np.errstate(all="ignore"):
        # Its warning says that the band is undefined in places, which None says here.
        warnings.simplefilter("ignore", RuntimeWarning)
        band = curve.confidence_interval(CONFIDENCE, method="log-log")  # type: ignore[attr-defined]
    share = curve.probabilities  # type: ignore[attr-defined]
    defined = (share > 0) & (share < 1)
    low, high = (
        np.where(defined, edge.probabilities, np.nan).tolist() for edge in (band.low, band.high)
    )
    return tuple([None if x != x else x for x in edge] for edge in (low, high))  # type: ignore[return-value]

"""How a coating wears: one curve through its ratings, with a band, and when it reaches a class.

A curve and no more: the class grows as a power of the years since painting. It is fitted to the
ratings of the coating itself, to those of coatings like it, and to the interval of the rule."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from config.figures import Formula

WORST_CLASS = 5.0
POWERS = (1.0, 1.5, 2.0, 2.5, 3.0)
USUAL_POWER = 2.0
FEWEST_LIKE = 3
FEWEST_FOR_POWER = 10
FEWEST_AGES = 3
# Of one rating about the curve, in classes: what two careful people may differ by.
SCATTER = 0.5
# Before any is seen, coatings of one kind are taken to differ by this share of their scale, as if
# that had been seen on so many: the lives that are published of one paint differ by a factor of 2.
USUAL_SPREAD = 0.5
USUAL_COATINGS = 3
BAND_PCT = 80
A_DAY = 1 / 366
# Between -z and z lies that much of a normal distribution.
Z = 1.2815515655446004

TOO_FEW = (
    f"No estimate: no rating of this coating, and fewer than {FEWEST_LIKE} coatings like it "
    "(common practice, no source)."
)
CURVE = Formula(
    words="the class grows as a power of the years since painting, from 0 on the day it was "
    "painted; its scale is fitted by least squares, each rating weighing alike",
    symbols="r(t) = c · tᵖ; c = Σ r tᵖ / Σ t²ᵖ; variance of c = s² / Σ t²ᵖ, s = 0.5 class",
    source="least squares through the origin (textbook); that p = 2 to begin with, and s, are "
    "choices, no source",
    holds="for classes 0 to 5 of ISO 4628 and one coat, not touched up. With 10 ratings of like "
    "coatings at 3 ages, p is that one of 1, 1.5, 2, 2.5 and 3 with the least squares",
)
SHRINKAGE = Formula(
    words="coatings like it, and the interval of the rule, give a first guess of the scale with "
    "its spread; the coating's own ratings are put to it, each side weighing by how sure it is",
    symbols="c = (c₀ / v₀ + ĉ / v) / (1 / v₀ + 1 / v); variance 1 / (1 / v₀ + 1 / v); "
    "c₀ = Σ w c / Σ w, w = 1 / (v + τ²), v₀ = τ² + 1 / Σ w; τ² = (3 (c₀ / 2)² + (n − 1) τₛ²) / "
    "(n + 2), τₛ² as seen, n = (Σ 1 / v)² / Σ 1 / v²",
    source="inverse-variance weights (textbook); the spread seen between coatings, τₛ², by "
    "DerSimonian and Laird 1986, Controlled Clinical Trials 7, 177; that it is put to one of half "
    "the scale, which counts as 3 coatings, is a choice, no source",
    holds=f"from {FEWEST_LIKE} like coatings on; with fewer, the rule alone is the first guess. "
    "The rule counts as one coating whose scale may be out by all of itself (its deviation): a "
    "choice, no source",
)
LIFE = Formula(
    words="the years at which the curve reaches the class; the band is where the lower and the "
    f"upper edge of the curve reach it ({BAND_PCT} % of a normal distribution of its scale)",
    symbols=f"t = (class / c)^(1/p); band with c ± {Z:.2f} · √variance",
    source="textbook; tried on made-up coatings: with 3 to 30 like ones it held 7 to 9 lives of 10",
    holds="without an end where the lower edge never rises. The band is of the scale alone: where "
    "no like coatings tell the power, or the rule is all that is known and is far out, it holds "
    "about half",
)
_PARTS = (CURVE, SHRINKAGE, LIFE)
# All three as one, for a figure that is opened.
COATING_LIFE = Formula(
    words="; ".join(part.words for part in _PARTS),
    symbols="; ".join(part.symbols for part in _PARTS),
    source="; ".join(part.source for part in _PARTS),
    holds="; ".join(part.holds for part in _PARTS),
)


@dataclass(frozen=True)
class Rated:
    """One rating: years since it was painted, and the worst class, 0 to 5."""

    years: float
    rating: float


@dataclass(frozen=True)
class Band:
    low: float
    likely: float
    high: float


@dataclass(frozen=True)
class YearsBand:
    """Years since painting, the soonest first. `likely` and `high` are None where the curve, or
    its lower edge, never reaches the class: it lasts at least `low`."""

    low: float
    likely: float | None
    high: float | None


@dataclass(frozen=True)
class _Scale:
    """A scale of the curve and its variance."""

    c: float
    variance: float


@dataclass(frozen=True)
class Degradation:
    """The fitted curve r(t) = c · t^power, t in years since painting, r in classes. `own`, `like`
    and `coatings` count what it rests on, `oldest` is the age in years of the oldest of these
    ratings; `by_rule` where the rule's interval is part of it; `fell` where a rating of its own
    fell."""

    c: float
    deviation: float
    power: float
    own: int
    like: int
    coatings: int
    by_rule: bool
    fell: bool
    oldest: float

    def rating_at(self, years: float) -> Band:
        """The curve and its band at so many years since painting, in classes, cut off at 5, the
        worst there is. Years below 0 raise ValueError. Beyond `oldest` no rating bears it out."""
        if not years >= 0:
            raise ValueError("years since painting are not below 0")
        grown = years**self.power
        low, high = self._edges()
        low, likely, high = (min(c * grown, WORST_CLASS) for c in (low, self.c, high))
        return Band(low, likely, high)

    def years_to(self, limit: float) -> YearsBand:
        """Years since painting until the curve reaches a class above 0, up to 5, else
        ValueError. What lies beyond `oldest` is reckoned on, and no rating bears it out."""
        if not 0 < limit <= WORST_CLASS:
            raise ValueError("a class above 0, up to 5")
        low, high = self._edges()
        soonest = self._years(limit, high)
        # The scatter is never nought, so that the upper edge of the curve always rises.
        assert soonest is not None
        return YearsBand(soonest, self._years(limit, self.c), self._years(limit, low))

    def _edges(self) -> tuple[float, float]:
        return max(self.c - Z * self.deviation, 0.0), self.c + Z * self.deviation

    def _years(self, limit: float, c: float) -> float | None:
        return float((limit / c) ** (1 / self.power)) if c > 0 else None

    @property
    def words(self) -> str:
        """What it rests on: 'by 3 looks here and 14 ratings of 6 like coatings'."""
        parts = []
        if self.own:
            parts.append(f"{self.own} look{'' if self.own == 1 else 's'} here")
        if self.like:
            ratings = f"{self.like} rating{'' if self.like == 1 else 's'}"
            parts.append(f"{ratings} of {self.coatings} like coatings")
        if self.by_rule and not self.like:
            parts.append("the rule as a first guess")
        return f"by {' and '.join(parts)}"


def fit(
    own: Sequence[Rated], like: Sequence[Sequence[Rated]], by_rule: Rated | None = None
) -> Degradation | None:
    """The curve of one coating from its own ratings, from those of coatings like it (one sequence
    each), and from what the rule expects: its class after its years.

    Ratings 0 to 5, years from 0 on, all finite, else ValueError. A rating on the day of painting
    tells nothing and is left out. None with no rating of its own and fewer than 3 like coatings;
    fewer than 3 like coatings count for nothing. Own ratings that rise never lengthen the life,
    and each further one narrows the band. Error: the band is of the curve's scale, not of its
    power nor of one rating; it takes each rating as made for itself, and knows nothing of weather,
    touching up or a change of hand."""
    mine = _aged(own)
    others = [aged for coating in like if (aged := _aged(coating))]
    if len(others) < FEWEST_LIKE:
        others = []
    if not mine and not others:
        return None
    power = _power(others)
    guesses = [_scale_of(coating, power) for coating in others]
    if by_rule is not None:
        guesses += [_scale_by_rule(rule, power) for rule in _aged([by_rule])]
    scale = _together(guesses, mine, power)
    return Degradation(
        c=scale.c, deviation=math.sqrt(scale.variance), power=power, own=len(mine),
        like=sum(len(coating) for coating in others), coatings=len(others),
        by_rule=by_rule is not None, fell=_fell(mine),
        oldest=max(each.years for each in itertools.chain(mine, *others)),
    )  # fmt: skip


def _aged(ratings: Sequence[Rated]) -> list[Rated]:
    for each in ratings:
        if not 0 <= each.rating <= WORST_CLASS:
            raise ValueError("a rating runs from 0 to 5")
        if not (each.years >= 0 and math.isfinite(each.years)):
            raise ValueError("years since painting are not below 0")
    return [each for each in ratings if each.years >= A_DAY]


def _fell(ratings: Sequence[Rated]) -> bool:
    """Whether a rating fell by a whole class or more: touched up, or rated by another hand."""
    worst = 0.0
    for each in sorted(ratings, key=lambda each: each.years):
        if each.rating <= worst - 1:
            return True
        worst = max(worst, each.rating)
    return False


def _power(others: Sequence[Sequence[Rated]]) -> float:
    """The power with the least squares over like coatings, each with a scale of its own; of
    equals the nearest to the usual one, which also stands where there are too few."""
    ratings = list(itertools.chain.from_iterable(others))
    ages = {round(each.years) for each in ratings}
    if len(ratings) < FEWEST_FOR_POWER or len(ages) < FEWEST_AGES:
        return USUAL_POWER
    nearest_first = sorted(POWERS, key=lambda power: abs(power - USUAL_POWER))
    return min(nearest_first, key=lambda power: round(_squares(others, power), 9))


def _squares(others: Sequence[Sequence[Rated]], power: float) -> float:
    total = 0.0
    for coating in others:
        c = _scale_of(coating, power).c
        total += math.fsum((each.rating - c * each.years**power) ** 2 for each in coating)
    return total


def _scale_of(ratings: Sequence[Rated], power: float) -> _Scale:
    squares = math.fsum(each.years ** (2 * power) for each in ratings)
    products = math.fsum(each.rating * each.years**power for each in ratings)
    return _Scale(products / squares, SCATTER**2 / squares)


def _scale_by_rule(rule: Rated, power: float) -> _Scale:
    if rule.rating <= 0:
        raise ValueError("a rule expects a class above 0")
    c = rule.rating / rule.years**power
    return _Scale(c, c**2)


def _together(guesses: Sequence[_Scale], mine: Sequence[Rated], power: float) -> _Scale:
    known = [_first_guess(guesses)] if guesses else []
    if mine:
        known.append(_scale_of(mine, power))
    return _weighed(known)


def _weighed(scales: Sequence[_Scale]) -> _Scale:
    weight = math.fsum(1 / each.variance for each in scales)
    return _Scale(math.fsum(each.c / each.variance for each in scales) / weight, 1 / weight)


def _first_guess(guesses: Sequence[_Scale]) -> _Scale:
    """What to expect of one more coating like those: their weighed mean, and a variance that
    holds both the spread between coatings and how well the mean is known."""
    spread = _spread_taken(guesses)
    wide = _wide(guesses, spread)
    return _Scale(wide.c, spread + wide.variance)


def _wide(guesses: Sequence[_Scale], spread: float) -> _Scale:
    return _weighed([_Scale(each.c, each.variance + spread) for each in guesses])


def _spread_taken(guesses: Sequence[_Scale]) -> float:
    """The variance between coatings, as seen and as usual together. Of few coatings what is seen
    alone comes to nought half of the time, and the band then holds every second life only."""
    if len(guesses) < 2:
        return 0.0
    seen = spread_between([each.c for each in guesses], [each.variance for each in guesses])
    weights = [1 / each.variance for each in guesses]
    # So many coatings of equal weight would tell as much.
    further = math.fsum(weights) ** 2 / math.fsum(weight**2 for weight in weights) - 1
    usual = (USUAL_SPREAD * _wide(guesses, seen).c) ** 2
    return (USUAL_COATINGS * usual + further * seen) / (USUAL_COATINGS + further)


def spread_between(values: Sequence[float], variances: Sequence[float]) -> float:
    """The variance between things measured, beyond that within each measurement (all above 0), by
    the method of moments; nought where they differ no more than that, and below two of them.

    Source: DerSimonian and Laird 1986, Controlled Clinical Trials 7, 177. Of few it is rough."""
    if len(values) < 2:
        return 0.0
    weights = [1 / each for each in variances]
    pairs = list(zip(values, weights, strict=True))
    mean = math.fsum(value * weight for value, weight in pairs) / math.fsum(weights)
    heterogeneity = math.fsum((value - mean) ** 2 * weight for value, weight in pairs)
    # Σ w − Σ w² / Σ w, as a sum of products of two, so that nothing cancels.
    before = itertools.accumulate(weights, initial=0.0)
    products = math.fsum(
        weight * sum_before for weight, sum_before in zip(weights, before, strict=False)
    )
    share = 2 * products / math.fsum(weights)
    return max((heterogeneity - (len(values) - 1)) / share, 0.0)

"""How a coating wears: one curve with its band, against outside reckonings of the same."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from repairs.coating_life import SCATTER, Degradation, Rated, fit, spread_between
from tests.published import published

CLASSES = st.sampled_from([step / 2 for step in range(11)])
YEARS = st.floats(0.1, 30)
RATED = st.builds(Rated, YEARS, CLASSES)
LIKE = st.lists(st.lists(RATED, min_size=1, max_size=3), min_size=3, max_size=3)


def fitted(
    own: Sequence[Rated], like: Sequence[Sequence[Rated]] = (), **more: Rated
) -> Degradation:
    found = fit(own, like, **more)
    assert found is not None
    return found


def rated(*pairs: tuple[float, float]) -> list[Rated]:
    return [Rated(years, rating) for years, rating in pairs]


OWN = rated((2, 0.5), (3, 1), (4, 2))


# Against outside reckonings


def test_the_scale_is_that_of_least_squares_through_the_origin() -> None:
    """numpy solves the same without knowing the formula; so does its variance."""
    grown = np.array([[each.years**2] for each in OWN])
    solved = np.linalg.lstsq(grown, np.array([each.rating for each in OWN]), rcond=None)[0][0]
    found = fitted(OWN)
    assert found.c == pytest.approx(solved, rel=1e-12)
    variance = SCATTER**2 * np.linalg.inv(grown.T @ grown)[0, 0]
    assert found.deviation == pytest.approx(math.sqrt(variance), rel=1e-12)


def test_the_band_holds_eighty_per_cent_of_a_normal_distribution() -> None:
    found = fitted(OWN)
    scale = stats.norm(found.c, found.deviation)
    band = found.years_to(3)
    assert band.high is not None
    low_c, high_c = 3 / band.high**2, 3 / band.low**2
    assert scale.cdf(high_c) - scale.cdf(low_c) == pytest.approx(0.80, abs=1e-6)


@pytest.mark.parametrize("power", [1.0, 1.5, 2.0, 2.5, 3.0])
def test_the_power_is_that_which_the_like_coatings_follow(power: float) -> None:
    """Four coatings that wear at their own speed, each exactly by one power."""
    like = [rated(*((t, c * t**power) for t in (1, 2, 3))) for c in (0.1, 0.12, 0.15, 0.18)]
    assert fitted([], like).power == power


def test_the_power_stays_two_with_few_ratings_or_few_ages() -> None:
    straight = [rated((1, 0.5), (2, 1), (3, 1.5)) for _ in range(3)]
    assert fitted([], straight).power == 2
    two_ages = [rated((1, 0.5), (2, 1)) for _ in range(6)]
    assert fitted([], two_ages).power == 2


def test_like_coatings_of_the_same_ages_are_a_mean_and_a_spread() -> None:
    """Where all are known alike, the method of moments is the plain mean, and the plain variance
    less that within each; to it comes half the mean, squared, as if seen on three coatings."""
    scales = np.array([0.10, 0.20, 0.30, 0.16])
    found = fitted([], [rated((4, 16 * c)) for c in scales])
    within = SCATTER**2 / 4**4
    seen = np.var(scales, ddof=1) - within
    between = (3 * (scales.mean() / 2) ** 2 + 3 * seen) / 6
    assert found.c == pytest.approx(scales.mean())
    assert found.deviation**2 == pytest.approx(between + (between + within) / 4)


def test_the_variance_between_is_the_published_one() -> None:
    """13 trials of a vaccine, the example that meta-analysis is taught with."""
    (row,) = published("spread_between", "variance between trials")
    counts = np.array(
        [[float(each) for each in trial.split()] for trial in row["inputs"].split(";")]
    )
    odds = np.log(counts[:, 0] * counts[:, 3] / (counts[:, 1] * counts[:, 2]))
    found = spread_between(odds.tolist(), (1 / counts).sum(axis=1).tolist())
    assert found == pytest.approx(float(row["value"]), abs=0.00005)


def test_what_differs_no_more_than_it_scatters_has_no_variance_between() -> None:
    assert spread_between([1, 1.1, 0.9], [1, 1, 1]) == 0
    assert spread_between([5], [1]) == spread_between([], []) == 0


def test_own_ratings_and_the_first_guess_meet_by_their_weights() -> None:
    """The posterior of a normal mean, on a fine grid, knows nothing of the closed form."""
    like = [rated((4, 16 * c)) for c in (0.10, 0.20, 0.30, 0.16)]
    prior, own, both = fitted([], like), fitted(OWN), fitted(OWN, like)
    grid = np.linspace(-0.5, 1, 200_001)
    density = stats.norm(prior.c, prior.deviation).pdf(grid)
    density *= stats.norm(own.c, own.deviation).pdf(grid)
    density /= density.sum()
    mean = (grid * density).sum()
    assert both.c == pytest.approx(mean, rel=1e-6)
    assert both.deviation == pytest.approx(
        math.sqrt(((grid - mean) ** 2 * density).sum()), rel=1e-6
    )


def test_a_worked_example() -> None:
    """Flaking 2 after 4 years and nothing else: c = 2/16; class 3 after √24 = 4.9 years."""
    band = fitted(rated((4, 2))).years_to(3)
    assert band.likely == pytest.approx(math.sqrt(24))
    assert band.low < 4.9 < (band.high or 0)


def made_coating(random: np.random.Generator, scale: float, ages: Sequence[float]) -> list[Rated]:
    """Rated in half classes by people who differ by half a class, until it is worn through."""
    worn = [(age, scale * age**2) for age in ages if scale * age**2 <= 5]
    seen = ((age, random.normal(rating, 0.5)) for age, rating in worn)
    return [Rated(age, float(np.clip(round(rating * 2) / 2, 0, 5))) for age, rating in seen]


@pytest.mark.parametrize("spread", [0.2, 0.4])
@pytest.mark.parametrize(
    ("like", "ages"), [(0, (2, 4, 6)), (3, ()), (3, (2, 4, 6)), (10, (2, 4)), (30, (2, 4, 6))]
)
def test_about_eight_of_ten_made_up_coatings_last_as_long_as_the_band_says(
    like: int, ages: Sequence[float], spread: float
) -> None:
    """Coatings that reach class 3 after 8 years, more or less, each with its own scale, as the
    rule says; without looks of its own, with a few, and with few or many coatings like it."""
    random = np.random.default_rng(20261128)
    held, tries = 0, 150
    for _ in range(tries):
        scales = np.maximum(random.normal(1, spread, like + 1), 0.1) * 3 / 8**2
        others = [
            made_coating(random, scale, sorted(random.uniform(1, 9, random.integers(2, 6))))
            for scale in scales[1:]
        ]
        band = fitted(made_coating(random, scales[0], ages), others, by_rule=Rated(8, 3)).years_to(
            3
        )
        held += band.low <= (3 / scales[0]) ** 0.5 <= (band.high or math.inf)
    assert 0.65 <= held / tries <= 0.99


def test_few_like_coatings_that_happen_to_agree_do_not_pass_for_certainty() -> None:
    """Three that all reached class 3 after 8 years: the next may well take 7 or 10."""
    band = fitted([], [rated((4, 0.5), (8, 3)) for _ in range(3)]).years_to(3)
    assert band.low < 7
    assert band.high is None or band.high > 10


# The rule as a first guess


def test_the_rule_alone_says_what_it_says_with_its_band() -> None:
    """Nought seen after a month tells next to nothing: class 3 stays at ten years."""
    band = fitted(rated((1 / 12, 0)), by_rule=Rated(10, 3)).years_to(3)
    assert band.likely == pytest.approx(10, rel=1e-4)
    # The scale may be out by all of itself: the upper edge of 80 % lies at 2.28 times it.
    assert band.low == pytest.approx(10 / math.sqrt(1 + stats.norm.ppf(0.9)), rel=1e-4)


def test_it_says_how_old_the_oldest_rating_is_that_it_rests_on() -> None:
    like = [rated((4, 2)), rated((4, 1), (6.5, 2)), rated((4, 3))]
    assert fitted(OWN).oldest == 4
    assert fitted(OWN, like, by_rule=Rated(10, 3)).oldest == 6.5
    assert fitted([], like).oldest == 6.5
    assert fitted(OWN, like[:2]).oldest == 4


def test_one_half_class_after_a_year_does_not_upset_the_rule() -> None:
    likely = fitted(rated((1, 0.5)), by_rule=Rated(10, 3)).years_to(3).likely
    assert likely == pytest.approx(10, rel=0.05)


def test_what_is_seen_later_outweighs_the_rule() -> None:
    seen = rated((3, 1), (4, 2), (5, 2.5))
    alone, with_rule = fitted(seen), fitted(seen, by_rule=Rated(10, 3))
    assert alone.c > with_rule.c > 0.7 * alone.c


def test_good_ratings_lengthen_what_the_rule_says() -> None:
    likely = fitted(rated((5, 0), (6, 0)), by_rule=Rated(10, 3)).years_to(3).likely
    assert likely is not None
    assert likely > 12


# Too few, noughts, falling ratings


def test_too_few_say_nothing() -> None:
    assert fit([], []) is None
    assert fit([], [OWN, OWN]) is None
    assert fit([], [OWN, OWN], Rated(10, 3)) is None
    assert fit([], [OWN, OWN, rated((0, 0))]) is None
    assert fit([], [OWN, OWN, OWN]) is not None


def test_a_rating_on_the_day_of_painting_tells_nothing() -> None:
    assert fit(rated((0, 0), (0, 3)), []) is None
    assert fitted([*OWN, Rated(0, 5)]) == fitted(OWN)


def test_noughts_say_at_least_so_long() -> None:
    band = fitted(rated((5, 0), (6, 0))).years_to(3)
    assert (band.likely, band.high) == (None, None)
    assert band.low > 6


def test_a_rating_that_fell_is_told_and_breaks_nothing() -> None:
    found = fitted(rated((4, 3), (5, 1), (6, 2)))
    assert found.fell
    assert not fitted(OWN).fell
    assert found.years_to(3).likely is not None


def test_two_like_coatings_count_for_nothing() -> None:
    worn = rated((1, 5))
    assert fitted(OWN, [worn, worn]) == fitted(OWN)


def test_a_young_coating_weighs_less_than_an_old_one() -> None:
    """Half a class after a month would be 60 classes after a year, were it taken at its word."""
    old = [rated((8, 2)), rated((8, 2.5)), rated((8, 1.5))]
    found = fitted([], [*old, rated((1 / 12, 0.5))])
    assert found.years_to(3).likely == pytest.approx(fitted([], old).years_to(3).likely, rel=0.05)


@pytest.mark.parametrize(
    "wrong",
    [
        Rated(-1, 2), Rated(math.nan, 2), Rated(math.inf, 2), Rated(4, -0.5), Rated(4, 5.5),
        Rated(4, math.nan),
    ],
)  # fmt: skip
def test_what_is_no_rating_is_refused(wrong: Rated) -> None:
    for own, like in (([wrong], []), ([], [[wrong], OWN, OWN])):
        with pytest.raises(ValueError, match=r"rating runs|not below"):
            fit(own, like)


def test_a_rule_expects_a_class_above_nought() -> None:
    with pytest.raises(ValueError, match="above 0"):
        fit(OWN, [], Rated(10, 0))


@pytest.mark.parametrize("limit", [0, -1, 5.5, math.nan])
def test_a_limit_out_of_range_is_refused(limit: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        fitted(OWN).years_to(limit)


def test_no_class_is_above_the_worst() -> None:
    band = fitted(OWN).rating_at(100)
    assert (band.low, band.likely, band.high) == (5, 5, 5)
    with pytest.raises(ValueError, match="not below 0"):
        fitted(OWN).rating_at(-1)


def test_it_says_what_it_rests_on() -> None:
    like = [rated((4, 2)), rated((4, 1), (5, 2)), rated((4, 3))]
    assert fitted(OWN, like).words == "by 3 looks here and 4 ratings of 3 like coatings"
    rule = fitted(rated((4, 2)), by_rule=Rated(10, 3))
    assert rule.words == "by 1 look here and the rule as a first guess"


# What holds for all


@given(st.lists(RATED, min_size=1, max_size=6), LIKE, st.data())
def test_a_higher_rating_never_means_later(
    own: list[Rated], like: list[list[Rated]], data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, len(own) - 1))
    higher = list(own)
    higher[at] = Rated(own[at].years, data.draw(st.sampled_from([own[at].rating, 5.0])))
    before, after = fitted(own, like).years_to(3), fitted(higher, like).years_to(3)
    assert after.low <= before.low * (1 + 1e-9)
    if before.likely is not None:
        assert after.likely is not None
        assert after.likely <= before.likely * (1 + 1e-9)


@given(st.lists(RATED, max_size=6), LIKE, st.sampled_from([0.5, 2.0, 3.0, 5.0]))
def test_the_band_holds_the_likely(own: list[Rated], like: list[list[Rated]], limit: float) -> None:
    found = fitted(own, like)
    band = found.years_to(limit)
    if band.likely is not None:
        assert band.low <= band.likely
        assert band.high is None or band.likely <= band.high
    at = found.rating_at(4)
    assert 0 <= at.low <= at.likely <= at.high <= 5


@given(st.lists(RATED, min_size=1, max_size=6), LIKE, RATED)
def test_one_more_rating_of_its_own_narrows_the_band(
    own: list[Rated], like: list[list[Rated]], more: Rated
) -> None:
    assert fitted([*own, more], like).deviation < fitted(own, like).deviation


@given(st.lists(RATED, min_size=1, max_size=4), st.sampled_from([2.0, 3.0, 5.0]))
def test_a_coating_that_wears_at_half_the_speed_lasts_twice_as_long(
    own: list[Rated], limit: float
) -> None:
    slow = [Rated(each.years * 2, each.rating) for each in own]
    band, twice = fitted(own).years_to(limit), fitted(slow).years_to(limit)
    assert twice.low == pytest.approx(2 * band.low)
    if band.likely is not None:
        assert twice.likely == pytest.approx(2 * band.likely)


@given(st.lists(RATED, min_size=1, max_size=6), LIKE)
def test_the_order_of_ratings_and_coatings_means_nothing(
    own: list[Rated], like: list[list[Rated]]
) -> None:
    one, other = fitted(own, like), fitted(own[::-1], like[::-1])
    assert one.c == pytest.approx(other.c, rel=1e-9, abs=1e-12)
    assert one.deviation == pytest.approx(other.deviation, rel=1e-9)


@given(st.lists(RATED, min_size=1, max_size=6), LIKE, st.sampled_from([1.0, 2.0, 4.0]))
def test_curve_and_life_are_each_others_inverse(
    own: list[Rated], like: list[list[Rated]], limit: float
) -> None:
    found = fitted(own, like)
    likely = found.years_to(limit).likely
    if likely is not None:
        assert found.rating_at(likely).likely == pytest.approx(limit)

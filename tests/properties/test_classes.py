"""The classes of the open standards, with their words."""

import re
from decimal import Decimal

import pytest

from properties.classes import (
    COATING_CHOICES,
    CONDITION_CHOICES,
    CROSS_CUT_CHOICES,
    DEFECT_SIZE_WORDS,
    DURABILITIES,
    EN_350_STATUS,
    EN_16096_STATUS,
    FLAKE_SIZE_WORDS,
    INTENSITY_WORDS,
    ISO_4628_SIZE_STATUS,
    RECOMMENDATION_CHOICES,
    URGENCY_CHOICES,
    USE_CLASS_CHOICES,
    USE_CLASS_WORDS,
    durability_of,
    intensity_in_words,
)
from tests.published import published


@pytest.mark.parametrize(
    ("quantity", "choices"),
    [
        ("EN 16096 condition classes", CONDITION_CHOICES),
        ("EN 16096 urgency classes", URGENCY_CHOICES),
        ("EN 16096 recommendation classes", RECOMMENDATION_CHOICES),
    ],
)
def test_en_16096_has_its_four_classes(quantity: str, choices: list[tuple[str, str]]) -> None:
    row = published("classes", quantity)[0]
    assert [value for value, _ in choices] == row["inputs"].split(" / ")
    assert len(row["value"].split(" / ")) == len(choices)


def test_en_16096_says_that_its_words_are_from_memory() -> None:
    assert {row["status"] for row in published("classes", "EN 16096")} == {"from-memory"}
    assert "from memory" in EN_16096_STATUS


def test_a_class_is_shown_with_its_meaning() -> None:
    assert dict(CONDITION_CHOICES)["CC2"] == "CC2 – moderately strong symptoms"
    assert dict(URGENCY_CHOICES)["UC3"] == "UC3 – urgent and immediate"


def test_en_335_use_classes_fit_what_was_published() -> None:
    assert [value for value, _ in USE_CLASS_CHOICES] == ["1", "2", "3.1", "3.2", "4", "5"]
    for row in published("classes", "EN 335 use class"):
        number = row["quantity"].removeprefix("EN 335 use class ")
        ours = " ".join(words for value, words in USE_CLASS_WORDS.items() if value[0] == number)
        telling = {"1": "inside", "2": "under cover", "3": "above ground", "4": "ground or fresh",
                   "5": "salt water"}[number]  # fmt: skip
        assert telling in row["value"]
        assert telling in ours


def test_a_coating_rating_runs_from_0_to_5_in_half_steps() -> None:
    assert [value for value, _ in COATING_CHOICES][:4] == ["0", "0.5", "1", "1.5"]
    assert len(COATING_CHOICES) == 11
    assert dict(COATING_CHOICES)["2.5"] == "2.5 – between slight and moderate"


def test_the_words_of_iso_4628_are_the_published_ones() -> None:
    row = published("classes", "ISO 4628-1 intensity words")[0]
    for value, word in re.findall(r"(\d) ([a-z]+ ?[a-z]*)", row["value"]):
        assert word.strip() in INTENSITY_WORDS[value]


@pytest.mark.parametrize("rating", ["-0.5", "5.5", "2.3"])
def test_a_rating_between_the_half_steps_is_refused(rating: str) -> None:
    with pytest.raises(ValueError, match="half steps"):
        intensity_in_words(Decimal(rating))


def test_cross_cut_areas_are_those_of_the_published_table_turned_round() -> None:
    words = [text for _, text in CROSS_CUT_CHOICES]
    for row in published("classes", "Cross-cut detached area"):
        grade = 5 - int(row["inputs"].removeprefix("ASTM D3359 ")[0])
        figures = re.findall(r"\d+", row["value"])
        assert grade == 0 or all(figure in words[grade] for figure in figures)


@pytest.mark.parametrize("row", published("classes", "EN 350"), ids=lambda row: row["inputs"])
def test_durability_keeps_its_range(row: dict[str, str]) -> None:
    name = {"larch (Europe/Japan)": "larch", "oak (Europe)": "oak"}.get(
        row["inputs"], row["inputs"]
    )
    found = durability_of(name)
    assert found is not None
    classes = [int(each) for each in row["value"].split("-")]
    assert (found.best, found.worst) == (classes[0], classes[-1])


def test_durability_is_said_at_its_worst_and_a_strange_species_has_none() -> None:
    oak = durability_of(" OAK ")
    assert str(oak) == "2 to 4 (slightly durable)"
    assert durability_of("ironwood of nowhere") is None
    assert len(DURABILITIES) == 10
    assert "secondary" in EN_350_STATUS


@pytest.mark.parametrize(
    ("quantity", "words"),
    [
        ("ISO 4628-1 size classes", DEFECT_SIZE_WORDS),
        ("ISO 4628-5 flake sizes", FLAKE_SIZE_WORDS),
    ],
)
def test_size_classes_are_those_kept_from_memory(quantity: str, words: dict[str, str]) -> None:
    row = published("classes", quantity)[0]
    sizes, limits = row["inputs"].split(" / "), row["value"].split(" / ")
    assert set(sizes) <= set(words)
    for size, limit in zip(sizes, limits, strict=True):
        figures = re.findall(r"[\d.]+", limit)
        assert re.findall(r"[\d.]+", words[size]) == figures
    assert row["status"] == "from-memory"
    assert "from memory" in ISO_4628_SIZE_STATUS

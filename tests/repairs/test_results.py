"""What the facts of a look ask of the next one."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.due.results import (
    LIMIT_PCT,
    LookFound,
    WorstOfCoating,
    because,
    judge_look,
    whole_sentences,
    worst_of_coating,
)
from tests.published import published

PRACTICE = "common practice, no source"


def flaking(rating: str) -> WorstOfCoating:
    return WorstOfCoating("Flaking", Decimal(rating))


@pytest.mark.parametrize(
    ("found", "halves", "within"),
    [
        ({}, False, None),
        ({"result": "watch"}, True, None),
        ({"result": "redo"}, True, None),
        ({"edge": "tight"}, False, None),
        ({"edge": "hairline"}, False, None),
        ({"edge": "na"}, False, None),
        ({"edge": "open"}, True, None),
        ({"edge": "moving"}, True, 3),
        ({"edge": "soft"}, True, 3),
        ({"urgency": "UC1"}, False, None),
        ({"urgency": "UC2"}, False, 6),
        ({"urgency": "UC3"}, False, 1),
        ({"condition": "CC1"}, False, None),
        ({"condition": "CC2"}, True, None),
        ({"condition": "CC3"}, True, 3),
        ({"moisture_pct": Decimal("19.9")}, False, None),
        ({"moisture_pct": Decimal(20)}, True, None),
        ({"moisture_pct": Decimal(12), "over_range": True}, True, None),
        ({"coating": flaking("2.5")}, False, None),
        ({"coating": flaking("3")}, True, None),
        ({"cross_cut": Decimal(3)}, False, None),
        ({"cross_cut": Decimal(4)}, True, None),
        ({"edge": "soft", "urgency": "UC3", "condition": "CC3"}, True, 1),
    ],
)
def test_each_fact_asks_what_it_asks(
    found: dict[str, Any], halves: bool, within: int | None
) -> None:
    verdict = judge_look(LookFound(**{"result": "sound", **found}))
    assert (verdict.halves, verdict.within_months) == (halves, within)
    assert verdict.is_sooner == (halves or within is not None)


# What each finding asks by itself, copied out by hand: half the time, and within how many months.
ALONE: dict[tuple[str, Any], tuple[bool, int | None]] = {
    ("result", "sound"): (False, None), ("result", "watch"): (True, None),
    ("edge", "hairline"): (False, None), ("edge", "open"): (True, None),
    ("edge", "moving"): (True, 3), ("edge", "soft"): (True, 3),
    ("urgency", "UC1"): (False, None), ("urgency", "UC2"): (False, 6),
    ("urgency", "UC3"): (False, 1), ("condition", "CC1"): (False, None),
    ("condition", "CC2"): (True, None), ("condition", "CC3"): (True, 3),
    ("moisture_pct", Decimal(19)): (False, None), ("moisture_pct", Decimal(24)): (True, None),
    ("cross_cut", Decimal(3)): (False, None), ("cross_cut", Decimal(5)): (True, None),
}  # fmt: skip


@given(st.lists(st.sampled_from(sorted(ALONE, key=str)), min_size=1, max_size=6))
def test_of_several_findings_the_strictest_holds(found: list[tuple[str, Any]]) -> None:
    facts = {"result": "sound", **dict(found)}
    asked = [ALONE[fact] for fact in facts.items()]
    months = [within for _, within in asked if within is not None]
    verdict = judge_look(LookFound(**facts))
    assert verdict.halves == any(halves for halves, _ in asked)
    assert verdict.within_months == (min(months) if months else None)


def test_a_member_not_reached_tells_nothing() -> None:
    assert not judge_look(LookFound("not_reached", edge="soft", urgency="UC3")).is_sooner


def test_a_hairline_is_told_and_changes_nothing() -> None:
    verdict = judge_look(LookFound("sound", edge="hairline"))
    assert [reason.words for reason in verdict.told] == ["Hairline gap at the edge"]
    assert verdict.misfit == ""


def test_only_the_moisture_limit_has_a_source() -> None:
    everything = LookFound(
        "watch", "soft", "CC3", "UC3", flaking("4"), Decimal(5), Decimal(25), over_range=False
    )
    sources = {reason.words: reason.source for reason in judge_look(everything).reasons}
    assert len(sources) == 7
    (row,) = published("decay_moisture")
    assert sources.pop("Moisture 25 %").partition(", 4.2")[0] in row["source"]
    assert f"at or below {LIMIT_PCT} %" in row["value"]
    assert set(sources.values()) == {PRACTICE}


def test_the_strictest_is_told_first() -> None:
    found = LookFound("watch", urgency="UC2", condition="CC3")
    words = [reason.words for reason in judge_look(found).reasons]
    assert words == [
        "Condition CC3, major symptoms", "Urgency UC2, short term", "The result is 'watch'",
    ]  # fmt: skip


def test_sound_and_soft_wood_do_not_fit_and_that_is_said() -> None:
    said = judge_look(LookFound("sound", edge="soft")).misfit
    assert "soft wood beside the repair" in said
    assert "Name another day" in said
    assert judge_look(LookFound("watch", edge="soft")).misfit == ""


def test_chalking_alone_is_no_defect_that_lets_water_in() -> None:
    assert worst_of_coating({"chalking": Decimal(5), "flaking": None}) is None
    worst = worst_of_coating(
        {"flaking": Decimal(1), "cracking": Decimal(3), "chalking": Decimal(5)}
    )
    assert worst == WorstOfCoating("Cracking", Decimal(3))


def test_nought_is_a_rating_and_not_recorded_is_none() -> None:
    assert worst_of_coating({"flaking": Decimal(0)}) == WorstOfCoating("Flaking", Decimal(0))
    assert worst_of_coating({}) is None


def test_reasons_stand_before_the_rule_and_never_end_in_the_middle() -> None:
    verdict = judge_look(LookFound("watch", "soft", "CC3", "UC3", flaking("4"), Decimal(5)))
    why = because(verdict, "Member: a look every year")
    assert len(why) <= 300
    assert why.startswith("Urgency UC3, urgent and immediate: within a month")
    assert why.endswith("Member: a look every year")
    assert why.count(PRACTICE) == 1
    assert "Soft wood beside the repair: half the usual interval, and within 3 months" in why


def test_a_rule_too_long_to_stand_beside_a_reason_is_left_out_whole() -> None:
    why = because(judge_look(LookFound("watch")), "x" * 290)
    assert why == f"The result is 'watch': half the usual interval ({PRACTICE})"
    assert because(judge_look(LookFound("sound")), "x" * 290) == "x" * 290


@given(st.lists(st.text("ab .", max_size=40), max_size=12), st.integers(10, 80))
def test_sentences_are_kept_whole(sentences: list[str], longest: int) -> None:
    told = whole_sentences(*sentences, longest=longest)
    assert len(told) <= longest
    stripped = [each.strip().rstrip(".") for each in sentences]
    assert not told or told.startswith(next(each for each in stripped if 0 < len(each) <= longest))

"""What the rules say of a repair as a whole, and how remarks are worded."""

from dataclasses import replace
from itertools import chain
from typing import Any

import pytest

from materials.shelf_life import LastUsableDay
from repairs.remarks import (
    DEFAULT_LIMITS,
    CauseFacts,
    Remark,
    batch_remarks,
    cautions_for,
    paint_presumed_leaded,
    repair_remarks,
    stage_remarks,
)
from repairs.remarks.limits import LEAD_BANS, LOAD_CAUTION
from tests.published import published

from .rule_facts import HOUR, MORNING, PUTTY, RESIN, D, codes, layer, lot, mix, only, repair, stage

GUTTER = CauseFacts("Gutter or downpipe", "not_yet")


def found(**facts: Any) -> list[str]:
    return codes(repair_remarks(repair(**facts)))


def test_a_sound_repair_has_no_remarks() -> None:
    assert found() == []


# Load


@pytest.mark.parametrize("load_bearing", ["yes", "unknown"])
def test_a_member_that_carries_load_or_may_asks_for_an_engineers_note(load_bearing: str) -> None:
    remark = only(repair_remarks(repair(load_bearing=load_bearing)), "no-engineer-note")
    assert "a licensed engineer decides" in remark.limit
    assert remark.holds
    assert "do not say that it is safe" in remark.advice


def test_an_engineers_note_answers_it() -> None:
    assert found(load_bearing="yes", engineer_note="J. Doe CEng, 2 May 2026: may be filled") == []
    assert found(load_bearing="yes", engineer_note="  \n") == ["no-engineer-note"]


def test_a_doubt_about_strength_asks_too() -> None:
    assert found(structural_concern=True) == ["no-engineer-note"]


def test_repainting_asks_no_engineer() -> None:
    assert found(kind="repaint", load_bearing="yes") == []


# Lead


def test_the_years_of_the_bans_are_the_published_ones() -> None:
    assert str(LEAD_BANS["US"].value) in published("lead_paint", "Target age")[0]["value"]
    assert str(LEAD_BANS["GB"].value) in published("lead_paint", "UK/EU")[0]["value"]


def test_paint_from_before_the_ban_disturbed_without_a_note_is_flagged() -> None:
    remark = only(repair_remarks(repair(paint_year=1977, ban_year=1978)), "lead-paint")
    assert "may be from 1977" in remark.found
    assert "paint from before 1978" in remark.limit
    assert "No dry sanding" in remark.advice


def test_paint_from_the_year_of_the_ban_is_not_presumed_leaded() -> None:
    assert found(paint_year=1978, ban_year=1978) == []


def test_paint_of_a_year_not_known_is_presumed_leaded() -> None:
    remark = only(repair_remarks(repair(paint_year=None)), "lead-paint")
    assert "year not known" in remark.found


def test_a_note_about_lead_answers_it() -> None:
    assert found(paint_year=1900, lead_note="Tested: none") == []


def test_only_stages_that_disturb_paint_count() -> None:
    assert found(paint_year=1900, stages=("seal", "fill", "paint")) == []
    assert found(paint_year=1900, stages=("seal", "fill", "shape")) == ["lead-paint"]
    assert found(paint_year=1900, kind="repaint", stages=("paint",)) == ["lead-paint"]


@pytest.mark.parametrize(
    ("year", "ban", "country", "presumed"),
    [
        (1977, None, "US", True),
        (1980, None, "US", False),
        (1980, None, "GB", True),
        (1980, None, "", True),
        (1992, None, "", False),
        (1980, 1975, "GB", False),
        (None, 1975, "GB", True),
    ],
)
def test_the_ban_is_the_propertys_own_else_the_countrys_else_the_latest_known(
    year: int | None, ban: int | None, country: str, presumed: bool
) -> None:
    assert paint_presumed_leaded(year, ban, country) == presumed


# Cause


@pytest.mark.parametrize("state", ["not_yet", "cannot"])
def test_scenario_17_a_cause_left_open_allows_only_a_temporary_repair(state: str) -> None:
    causes = (replace(GUTTER, state=state),)
    remark = only(repair_remarks(repair(causes=causes)), "cause-open")
    assert "“Gutter or downpipe” is not put right" in remark.found
    assert "every 3 months" in remark.limit
    assert remark.holds
    assert found(causes=causes, temporary=True) == []


def test_a_cause_put_right_is_sound_and_one_not_known_is_noted() -> None:
    assert found(causes=(replace(GUTTER, state="put_right"),)) == []
    remark = only(
        repair_remarks(repair(causes=(replace(GUTTER, state="unknown"),))), "cause-not-known"
    )
    assert remark.level == "note"


def test_making_safe_waits_for_no_cause() -> None:
    assert found(causes=(GUTTER,), kind="make_safe") == []


# Again on one spot


@pytest.mark.parametrize(
    ("earlier", "said"),
    [(0, None), (1, None), (2, "third"), (3, "fourth"), (11, "12th")],
)
def test_scenario_7_from_the_third_repair_on_a_zone_replacement_is_advised(
    earlier: int, said: str | None
) -> None:
    remarks = repair_remarks(repair(earlier_here=earlier))
    if said is None:
        assert remarks == []
        return
    assert remarks[0].found == f"The {said} repair here (left end)."
    assert "replacement is advised" in remarks[0].limit


def test_a_replacement_is_not_one_repair_too_many() -> None:
    assert found(kind="replacement", earlier_here=5) == []


# Words


def every_remark() -> list[Remark]:
    """One of nearly every rule, with the longest names that the records allow."""
    long = "x" * 300
    sheet = replace(RESIN, product=long, revision=long, batch_mass_max_g=D(1))
    putty = replace(PUTTY, product=long, heat_deflection_method=long)
    lots = (
        lot("a", 900, number=long, parent=long, held_back=True, held_back_reason=long, product=long,
            shelf=LastUsableDay(MORNING.date().replace(year=2001), "opened"), remaining=D(1)),
        lot("b", 800, used_as="a"),
        lot("b", 10, parent="other"),
    )  # fmt: skip
    batch = mix(0, 0, sheet, lots=lots, applied_at=MORNING + 900 * HOUR, surface_c=D(1))
    below = (layer(sheet), layer(putty))
    return list(
        chain(
            batch_remarks(batch),
            stage_remarks(stage("paint", sheet, below=below, moisture_pct=D(40), surface_c=D(-3))),
            stage_remarks(stage("fill", putty, below=(layer(sheet),), thickness_mm=D(900),
                                began_at=MORNING + 900 * HOUR, surface_c=None, face=None)),
            stage_remarks(stage("fill", putty, thickness_mm=D(1), moisture_pct=None)),
            repair_remarks(repair(load_bearing="yes", paint_year=None, ban_year=None,
                                  earlier_here=4, causes=(CauseFacts(long, "cannot"),
                                                          CauseFacts(long, "unknown")))),
        )
    )  # fmt: skip


def test_remarks_fit_the_columns_that_keep_them() -> None:
    remarks = every_remark()
    assert len({remark.code for remark in remarks}) > 20
    for remark in remarks:
        assert len(remark.code) <= 50
        assert max(len(remark.found), len(remark.limit), len(remark.source)) <= 300, remark
        assert len(remark.advice) <= 500


def test_every_remark_says_what_to_do_and_where_its_limit_comes_from() -> None:
    for remark in every_remark():
        assert remark.found.endswith(".")
        assert remark.advice.endswith(".") or remark.advice.endswith("?")
        assert remark.source
        assert remark.sentence.startswith(remark.found)
        assert not remark.holds or remark.level == "warning"


def test_no_remark_calls_a_member_safe() -> None:
    for remark in every_remark():
        assert "is safe" not in remark.sentence.replace("do not say that it is safe", "")


def test_each_usual_limit_names_its_source() -> None:
    assert all(limit.source and limit.unit for limit in DEFAULT_LIMITS.values())


def test_cautions_come_with_the_work_that_they_are_about() -> None:
    nothing = {"resin": False, "old_paint": False, "at_height": False, "dust": False}
    assert cautions_for(load_bearing="no", **nothing) == ()
    assert cautions_for(load_bearing="unknown", **nothing) == (LOAD_CAUTION,)
    [resin] = cautions_for(load_bearing="no", **{**nothing, "resin": True})
    assert "safety data sheet rules" in resin

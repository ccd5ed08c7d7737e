"""How often to look: the rules that the rule set begins with, the particular above the general."""

from __future__ import annotations

from repairs.due.intervals import NPS_47, PRACTICE, DefaultRule

SPRING = ("spring",)
SPRING_AND_AUTUMN = ("spring", "autumn")
_BY_CLASS = f"use class: EN 335; months: {PRACTICE}"
_BY_CLIMATE = f"use class: EN 335; climate: Scheffer’s index; months: {PRACTICE}"

REPAIR_LOOKS = (
    DefaultRule(
        code="temporary-repair-look",
        kind="repair_look",
        temporary=True,
        then_months=3,
        from_done=True,
        window_days=7,
        words="Every 3 months until the lasting repair",
        source=PRACTICE,
    ),
    DefaultRule(
        code="old-repair-look",
        kind="repair_look",
        temporary=False,
        age_from_years=5,
        then_months=12,
        seasons=SPRING,
        window_days=30,
        words="A repair of 5 years and more: a look every spring, as at the member",
        source=PRACTICE,
    ),
    DefaultRule(
        code="repair-look",
        kind="repair_look",
        temporary=False,
        first_months=(1, 6),
        then_months=12,
        window_days=14,
        words="1 month and 6 months after the repair, then yearly",
        source=PRACTICE,
    ),
)

COATING_LOOKS = (
    *(
        DefaultRule(
            code=f"coating-look-{finish}-severe".replace("_", "-"),
            kind="coating_look",
            finish=finish,
            exposure="severe",
            then_months=6,
            seasons=SPRING_AND_AUTUMN,
            window_days=30,
            words=f"{words}, severe exposure: a look in spring and in autumn",
            source=PRACTICE,
        )
        for finish, words in (
            ("water_repellent", "Water-repellent preservative"),
            ("tinted_clear", "Tinted clear finish"),
        )
    ),
    DefaultRule(
        code="coating-look",
        kind="coating_look",
        then_months=12,
        seasons=SPRING,
        window_days=30,
        words="Coating: a look every spring, before the painting season",
        source=f"{NPS_47}, inspection table: walls, porches and windows yearly, in spring",
    ),
)


def _by_class(code: str, use_class: str, months: int, words: str, climate: str = "") -> DefaultRule:
    return DefaultRule(
        code=code,
        kind="member_look",
        use_class=use_class,
        climate=climate,
        then_months=months,
        seasons=SPRING_AND_AUTUMN if months < 12 else SPRING,
        window_days=30,
        words=words,
        source=_BY_CLIMATE if climate else _BY_CLASS,
    )


# Sooner before later, so that of two that fit the sooner sets the date.
MEMBER_LOOKS = (
    DefaultRule(
        code="major-symptoms-look",
        kind="member_look",
        worst_condition="CC3",
        then_months=3,
        from_done=True,
        words="Major symptoms at the last look: every 3 months until they are mended",
        source=f"classes: EN 16096; months: {PRACTICE}",
    ),
    DefaultRule(
        code="symptoms-look",
        kind="member_look",
        worst_condition="CC2",
        then_months=6,
        from_done=True,
        words="Moderately strong symptoms at the last look: every 6 months",
        source=f"classes: EN 16096; months: {PRACTICE}",
    ),
    DefaultRule(
        code="door-look",
        kind="member_look",
        member_kind="door",
        then_months=6,
        seasons=SPRING_AND_AUTUMN,
        window_days=30,
        words="Door: a look in spring and in autumn",
        source=f"{NPS_47}, inspection table: doors every 6 months, in spring and fall",
    ),
    _by_class(
        "sea-water-look", "5", 6, "In salt water: a look in spring and in autumn"
    ),
    _by_class(
        "ground-look", "4", 6, "On the ground or in fresh water: a look in spring and in autumn"
    ),
    _by_class(
        "wet-in-high-hazard-look", "3.2", 6,
        "Long wet where the climate favours decay: a look in spring and in autumn", "high",
    ),
    DefaultRule(
        code="threshold-look",
        kind="member_look",
        member_kind="threshold",
        then_months=12,
        seasons=SPRING,
        window_days=30,
        words="Threshold: a look every spring; more often where many people walk",
        source=f"{NPS_47}, inspection table: entryways yearly, in spring, busy ones more often",
    ),
    _by_class("inside-look", "1", 36, "Inside, never wetted: a look every 3 years"),
    _by_class(
        "under-cover-in-high-hazard-look", "2", 12,
        "Under cover where the climate favours decay: a look every spring", "high",
    ),
    _by_class("under-cover-look", "2", 24, "Under cover: a look every 2 years"),
    _by_class(
        "seldom-wet-in-low-hazard-look", "3.1", 24,
        "Wet for limited times where wood seldom decays: a look every 2 years", "low",
    ),
    DefaultRule(
        code="member-look",
        kind="member_look",
        then_months=12,
        seasons=SPRING,
        window_days=30,
        words="Member: a look every spring",
        source=f"{NPS_47}, inspection table: walls, porches and windows yearly, in spring",
    ),
)  # fmt: skip

LOOK_RULES = (*REPAIR_LOOKS, *COATING_LOOKS, *MEMBER_LOOKS)

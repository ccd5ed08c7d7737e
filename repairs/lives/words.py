"""The figures of a curve in words."""

from __future__ import annotations

from repairs.survival import FEW_WORDS, Step, Survival

NOT_REACHED = "Not reached"


def median_words(found: Survival) -> str:
    if not found.is_enough:
        return FEW_WORDS
    if found.median is None:
        return NOT_REACHED
    return f"{found.median:.1f} years, {median_band(found)}"


def median_band(found: Survival) -> str:
    low = f"{found.median_low:.1f}" if found.median_low is not None else "0"
    high = f"to {found.median_high:.1f}" if found.median_high is not None else "upwards"
    return f"95 % band {low} {high}" if high == "upwards" else f"95 % band {low} {high} years"


def share_in_words(share: float) -> str:
    """Whole percent, and never 100 or 0 for what only comes near."""
    if 0.995 <= share < 1:
        return "over 99 %"
    if 0 < share < 0.005:
        return "under 1 %"
    return f"{100 * share:.0f} %"


def p_in_words(p: float) -> str:
    return "< 0.001" if p < 0.001 else f"= {p:.3f}"


def years_in_words(years: float) -> str:
    told = f"{years:g}"
    return f"{told} year" if years == 1 else f"{told} years"


def how_many(number: int, word: str) -> str:
    return f"one {word}" if number == 1 else f"{number:,} {word}s"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def band_words(step: Step | None) -> str:
    if step is None or step.low is None or step.high is None:
        return ""
    return f"{100 * step.low:.0f} to {100 * step.high:.0f} %"

"""The dated entries that a page tells, as in a diary."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Dated:
    """One entry of a timeline, as its template reads it."""

    when: date
    title: str
    url: str = ""
    text: str = ""
    who: str = ""
    state: str = ""
    state_word: str = ""

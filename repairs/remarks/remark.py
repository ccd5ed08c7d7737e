"""What a check says about an entry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Level = Literal["stop", "warning", "note"]


@dataclass(frozen=True)
class Remark:
    """`found` and `advice` are whole sentences, `limit` and `source` phrases. `about` names what
    it is about where an entry holds several, such as a lot. A warning that `holds` keeps back
    'ready to paint' until a person gives a word."""

    code: str
    level: Level
    found: str
    limit: str
    source: str
    advice: str
    about: str = ""
    holds: bool = False

    @property
    def sentence(self) -> str:
        limit = f" Limit: {self.limit} ({self.source})." if self.limit else ""
        return f"{self.found}{limit} {self.advice}"

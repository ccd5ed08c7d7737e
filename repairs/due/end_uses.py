"""What end use of EN 927-1 a kind of member is for its coating: how far it may move."""

from __future__ import annotations

from typing import Literal

EndUse = Literal["stable", "semi-stable", "non-stable"]

EN_927_STATUS = (
    "EN 927-1:2013: that it classes by end use, appearance and exposure was read; the three names "
    "and which member is which from memory, to be checked against the standard"
)
_WORDS: dict[EndUse, str] = {
    "stable": "stable: joinery that must keep its size, such as windows and doors",
    "semi-stable": "semi-stable: cladding and framing, which may move a little",
    "non-stable": "non-stable: what may move freely, such as fences",
}
_OF_KIND: dict[str, EndUse] = {
    **dict.fromkeys(
        ("sill", "jamb", "door", "door_frame", "sash", "window_frame", "threshold"), "stable"
    ),
    **dict.fromkeys(
        (
            "post", "post_base", "beam", "beam_end", "lintel", "fascia", "bargeboard",
            "rafter_tail", "soffit", "cladding", "corner_board", "handrail", "bracket",
        ),
        "semi-stable",
    ),
}  # fmt: skip


def end_use(member_kind: str) -> EndUse | None:
    """The category of a kind of member; None for one that could be any. From memory."""
    return _OF_KIND.get(member_kind)


def end_use_words(member_kind: str) -> str:
    """The category in words; empty where the kind does not tell."""
    found = end_use(member_kind)
    return _WORDS[found] if found else ""

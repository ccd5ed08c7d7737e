"""A figure that was reached, or the sentence that says why it was not."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

Value = TypeVar("Value")


def reached(work_out: Callable[[], Value]) -> tuple[Value | None, str]:
    """What a calculation gives; where its inputs are out of range, None and its sentence."""
    try:
        return work_out(), ""
    except ValueError as error:
        return None, sentence(str(error))


def sentence(words: str) -> str:
    """With a capital and a full stop."""
    bare = words.strip().removesuffix(".")
    return f"{bare[:1].upper()}{bare[1:]}." if bare else ""


def said(*sentences: str) -> tuple[str, ...]:
    """Those that say something, each once."""
    return once(sentences)


def once(sentences: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(each for each in sentences if each))

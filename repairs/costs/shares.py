"""One part of a total, and the lines behind it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

MOST_SHOWN = 40
# How the address of a list of lines says that something is not recorded.
NONE = "none"

Only = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Share:
    """One part of a total, such as a year or a kind of cost. `url` is the page of what it is
    about; `only` are the conditions by which its lines are picked out of those of the total."""

    label: str
    minor: int
    url: str = ""
    only: Only = ()


def lines_url(*conditions: Only) -> str:
    """The list of the lines that fit all conditions; its sum is the figure that was opened."""
    asked = [pair for each in conditions for pair in each]
    query = urlencode(asked)
    return reverse("cost-line-list") + (f"?{query}" if query else "")


def add_up(
    groups: Iterable[tuple[Any, ...]],
    key: Callable[[tuple[Any, ...]], Any],
    label: Callable[[Any], str],
    name: str = "",
    by_size: bool = True,
) -> tuple[Share, ...]:
    """Groups that end in their sum, added up by a key; `name` is that of the condition."""
    sums: defaultdict[Any, int] = defaultdict(int)
    for group in groups:
        sums[key(group)] += group[-1]
    ordered = sorted(sums.items(), key=(lambda item: -item[1]) if by_size else None)
    return tuple(
        Share(label(value), minor, only=condition(name, value)) for value, minor in ordered
    )


def condition(name: str, value: Any) -> Only:
    if not name:
        return ()
    return ((name, NONE if value is None or value == "" else str(value)),)


def shortened(shares: tuple[Share, ...], most: int = MOST_SHOWN) -> tuple[Share, ...]:
    """The largest shares, and one for all the rest, so that the sum stays the same. The lines of
    the rest are all but those of the shares shown."""
    if len(shares) <= most:
        return shares
    shown, rest = shares[:most], shares[most:]
    others = Share(f"{len(rest)} others", sum(share.minor for share in rest), only=_all_but(shown))
    return (*shown, others)


def _all_but(shown: Iterable[Share]) -> Only:
    named: defaultdict[str, list[str]] = defaultdict(list)
    for share in shown:
        for name, value in share.only:
            named[name].append(value)
    return tuple((f"not_{name}", ",".join(values)) for name, values in named.items())

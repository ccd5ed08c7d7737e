"""One life for each lasting repair: from the day it was finished until it failed, or until it
was last known to be sound. A repair that does another again has a life of its own."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Sum

from materials.models import Product
from repairs.models import BatchShare, Labour, Repair
from repairs.models.repairs import RepairQuerySet

DAYS_OF_A_YEAR = 365.2425
# What a repair is made of; a primer or paint over it is its coating.
BODY = frozenset(
    {Product.Kind.FILLER, Product.Kind.LAMINATING_RESIN, Product.Kind.ADHESIVE, Product.Kind.SEALER}
)
NAMES_APART = re.compile(r"[,;&+/\n]|\band\b")
MOST_OF_A_CREW = 3
NO_CREW = "none"


class Ending:
    """How a life stands at the end of what is known of it."""

    FAILED = "Found failed, or done again"
    AGAIN = "Damaged again at the same spot"
    SOUND = "Sound to date"
    REMOVED = "Member taken out while sound"
    DEMOLISHED = "Building demolished while sound"
    GIVEN_UP = "Property given up while sound"


@dataclass(frozen=True, slots=True)
class RepairLife:
    """`product` and `crew` are filled in only where they were asked for."""

    repair_id: int
    kind: str
    exposure: str
    done_on: date
    ended_on: date
    failed: bool
    ending: str
    product: str = ""
    crew: str = NO_CREW

    @property
    def years(self) -> float:
        return (self.ended_on - self.done_on).days / DAYS_OF_A_YEAR


@dataclass(frozen=True)
class Asked:
    """What is to be known of each life beside its length. `again_fails` says that damage at the
    same spot counts as a failure; else the repair was sound until then."""

    product: bool = False
    crew: bool = False
    again_fails: bool = False


@dataclass(frozen=True)
class Gathered:
    """The lives, and how many repairs have none: temporary ones, and those that failed on a day
    that nobody recorded."""

    lives: tuple[RepairLife, ...]
    temporary: int
    undated: int


@dataclass(frozen=True)
class _Next:
    """The days on which later work on the spot of a repair began."""

    redone_at: datetime | None = None
    again_at: datetime | None = None


COLUMNS = (
    "pk", "kind", "state", "temporary", "began_at", "ended_at", "failed_on", "done_by",
    "member__exposure", "member__removed_on", "member__building__demolished_on",
    "member__building__property__given_up_on", "member__building__property__time_zone",
)  # fmt: skip


def gather(repairs: RepairQuerySet, on: date, asked: Asked) -> Gathered:
    """The lives of those repairs as they stood on a day; in two queries, and one more each for
    products and crews."""
    done = repairs.filter(state__in=[Repair.State.FINISHED, Repair.State.FAILED]).order_by()
    following = _following(done)
    products = _products(done) if asked.product else {}
    people = _people(done) if asked.crew else {}
    lives, temporary, undated = [], 0, 0
    for row in done.values_list(*COLUMNS, named=True).iterator(chunk_size=5000):
        zone = ZoneInfo(row.member__building__property__time_zone)
        done_on = (row.ended_at or row.began_at).astimezone(zone).date()
        if done_on > on:
            continue
        if row.temporary:
            temporary += 1
            continue
        ended_on, ending = _ending(row, following.get(row.pk, NOTHING_AFTER), zone, on)
        if ended_on is None:
            undated += 1
            continue
        lives.append(
            RepairLife(
                repair_id=row.pk,
                kind=row.kind,
                exposure=row.member__exposure,
                done_on=done_on,
                ended_on=max(ended_on, done_on),
                failed=ending == Ending.FAILED or (ending == Ending.AGAIN and asked.again_fails),
                ending=ending,
                product=products.get(row.pk, ""),
                crew=crew_size(people.get(row.pk, set()), row.done_by) if asked.crew else NO_CREW,
            )
        )
    return Gathered(tuple(lives), temporary, undated)


def _ending(row: Any, after: _Next, zone: ZoneInfo, on: date) -> tuple[date | None, str]:
    """The day on which a life ended and why; no day for a failure that nobody dated. Of one and
    the same day a failure goes before whatever else ended it."""
    redone_on = after.redone_at.astimezone(zone).date() if after.redone_at else None
    again_on = after.again_at.astimezone(zone).date() if after.again_at else None
    if row.state == Repair.State.FAILED and not (row.failed_on or redone_on):
        return None, Ending.FAILED
    endings = (
        (row.failed_on, Ending.FAILED),
        (redone_on, Ending.FAILED),
        (again_on, Ending.AGAIN),
        (row.member__removed_on, Ending.REMOVED),
        (row.member__building__demolished_on, Ending.DEMOLISHED),
        (row.member__building__property__given_up_on, Ending.GIVEN_UP),
        (on, Ending.SOUND),
    )
    known = [(day, ending) for day, ending in endings if day is not None]
    return min(known, key=lambda each: each[0])


NOTHING_AFTER = _Next()


def _following(done: RepairQuerySet) -> dict[int, _Next]:
    """What was done after each repair on its spot. A coat of paint over a repair is no second
    repair of it."""
    later = (
        Repair.objects.standing()
        .filter(follows__in=done)
        .order_by()
        .values_list("follows", "relation", "kind", "follows__kind", "began_at")
    )
    found: dict[int, _Next] = {}
    # Put in order here: asked to, SQLite would walk every repair by the index of that order.
    for pk, relation, kind, before, began_at in sorted(later, key=lambda row: row[-1]):
        if pk is None:
            continue
        known = found.get(pk, NOTHING_AFTER)
        if relation == Repair.Relation.REDO:
            found[pk] = _Next(known.redone_at or began_at, known.again_at)
        elif kind != Repair.Kind.REPAINT or before == kind:
            found[pk] = _Next(known.redone_at, known.again_at or began_at)
    return found


def _products(done: RepairQuerySet) -> dict[int, str]:
    """The product of which most went into each repair: of what its body is made of, else of its
    coating."""
    shares = (
        BatchShare.objects.filter(stage__repair__in=done)
        .order_by()
        .values_list("stage__repair", "batch__sheet__product", "batch__sheet__product__kind")
        .annotate(amount=Sum("amount"))
    )
    best: dict[int, tuple[bool, Any, int]] = {}
    for repair, product, kind, amount in shares:
        rank = (kind in BODY, amount, product)
        if repair not in best or rank > best[repair]:
            best[repair] = rank
    return {repair: str(product) for repair, (_, _, product) in best.items()}


def _people(done: RepairQuerySet) -> dict[int, set[str]]:
    found: dict[int, set[str]] = defaultdict(set)
    for repair, who in Labour.objects.filter(repair__in=done).order_by().values_list(
        "repair", "who"
    ):  # fmt: skip
        if who.strip():
            found[repair].add(who.strip().lower())
    return found


def crew_size(people: set[str], done_by: str) -> str:
    """How many worked on it: people with hours, else the names of who did it."""
    count = len(people) or len(set(_names(done_by)))
    return str(min(count, MOST_OF_A_CREW)) if count else NO_CREW


def _names(text: str) -> Iterator[str]:
    return (name.strip().lower() for name in NAMES_APART.split(text) if name.strip())

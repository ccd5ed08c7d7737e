"""What is typed on the log page, as one flat set of names and values.

Names: `kind` (the repair), `stage-0-kind`, `stage-0-batch-1-amount`, `labour-0-hours`,
`cost-0-amount`. Numbers may have gaps; their order is the order of the page. Every act that
changes the page without saving it is a function on these values, so that nothing typed is lost."""

from __future__ import annotations

import json
import re
from datetime import datetime
from hashlib import sha256
from uuid import uuid4

from django.http import QueryDict

from properties.models import Defect
from repairs.models import Repair, Stage

MOST_STAGES, MOST_BATCHES, MOST_LINES = 40, 40, 40
USUAL_STAGES: dict[str, tuple[str, ...]] = {
    Repair.Kind.RESIN: (Stage.Kind.SEAL, Stage.Kind.FILL, Stage.Kind.PAINT),
    Repair.Kind.SPLICE: (Stage.Kind.OPEN_UP, Stage.Kind.FILL, Stage.Kind.PAINT),
    Repair.Kind.REPLACEMENT: (Stage.Kind.PRIME, Stage.Kind.PAINT),
    Repair.Kind.REPAINT: (Stage.Kind.PRIME, Stage.Kind.PAINT),
    Repair.Kind.MAKE_SAFE: (Stage.Kind.OPEN_UP,),
}
# A second batch is most often of the same lot, put on right after the first.
CARRIED_OVER = ("lot", "lot_b", "mixed")
# Of a stage: its kind and day, and the mark of what a plan filled in.
SET_OUT = frozenset({"kind", "on", "again", "planned"})
NOT_REPEATED = ("used", "waste", "left_over", "abandoned", "notes", "again")


def numbers(typed: QueryDict, pattern: str, most: int) -> list[int]:
    """The block numbers in the names that begin like the pattern, in order."""
    begins = re.compile(rf"{pattern}(\d{{1,3}})-")
    found = {int(match[1]) for name in typed if (match := begins.match(name))}
    return sorted(found)[:most]


def stage_numbers(typed: QueryDict) -> list[int]:
    return numbers(typed, "stage-", MOST_STAGES)


def batch_numbers(typed: QueryDict, stage: int) -> list[int]:
    return numbers(typed, f"stage-{stage}-batch-", MOST_BATCHES)


def line_numbers(typed: QueryDict, kind: str) -> list[int]:
    return numbers(typed, f"{kind}-", MOST_LINES)


def as_sent(sent: QueryDict) -> QueryDict:
    """What was sent, to be changed. Null characters are dropped: no database text holds them."""
    typed = sent.copy()
    for name, values in sent.lists():
        typed.setlist(name, [value.replace("\0", "") for value in values])
    return typed


def fresh(at: datetime, done_by: str) -> QueryDict:
    """A page as it is first opened."""
    typed = QueryDict(mutable=True)
    typed.update({"key": str(uuid4()), "kind": Repair.Kind.RESIN, "finished": "on"})
    typed["done_by"] = done_by
    typed["relation"] = "auto"
    for kind in USUAL_STAGES[Repair.Kind.RESIN]:
        add_stage(typed, kind)
    typed["stage-0-on"] = f"{at:%Y-%m-%d}"
    typed["labour-0-who"] = done_by
    typed["labour-0-hours"] = ""
    typed["cost-0-amount"] = ""
    return typed


def going_on(at: datetime, done_by: str, repair: Repair) -> QueryDict:
    """A page for what comes after the stages of a repair in work."""
    typed = fresh(at, done_by)
    for number in stage_numbers(typed):
        drop(typed, f"stage-{number}")
    typed["member"], typed["continues"] = str(repair.member_id), str(repair.pk)
    done = [stage.kind for stage in repair.stages.all()]
    usual = USUAL_STAGES[repair.kind]
    last = max((usual.index(kind) for kind in done if kind in usual), default=-1)
    for kind in usual[last + 1 :] or ("",):
        add_stage(typed, kind)
    typed["stage-0-on"] = f"{at:%Y-%m-%d}"
    return typed


def stage_mark(typed: QueryDict, stage: int) -> str:
    """What a stage and its batches say, in short; what was set out for it does not count."""
    begins = f"stage-{stage}-"
    said = sorted(
        (name, str(value).strip())
        for name, value in typed.items()
        if name.startswith(begins) and name.removeprefix(begins) not in SET_OUT
    )
    written = json.dumps([pair for pair in said if pair[1]])
    return sha256(written.encode()).hexdigest()[:16]


def take_member(typed: QueryDict, number: int, defects: list[Defect]) -> None:
    """Choose the member; its one open defect, or the one asked for, is taken up with it."""
    typed["member"] = str(number)
    typed["find"] = ""
    taken = defects if len(defects) == 1 else []
    typed.setlist("defects", [str(one.pk) for one in taken])
    if taken:
        typed["zone"] = taken[0].zone
    else:
        typed.pop("zone", None)


def add_stage(typed: QueryDict, kind: str = "") -> int:
    number = max(stage_numbers(typed), default=-1) + 1
    for name in ("kind", "on", "at"):
        typed[f"stage-{number}-{name}"] = ""
    typed[f"stage-{number}-kind"] = kind
    if kind not in (Stage.Kind.OPEN_UP, Stage.Kind.DRY, Stage.Kind.SHAPE):
        add_batch(typed, number)
    return number


def add_batch(typed: QueryDict, stage: int, *, repeat: bool = False) -> int:
    """One batch more in a stage; it begins like the one before, or repeats it whole."""
    earlier = batch_numbers(typed, stage)
    number = max(earlier, default=-1) + 1
    mine = f"stage-{stage}-batch-{number}-"
    typed[f"{mine}amount"] = ""
    if not earlier:
        return number
    before = f"stage-{stage}-batch-{earlier[-1]}-"
    for name in [name for name in typed if name.startswith(before)]:
        field = name.removeprefix(before)
        if field in CARRIED_OVER or (repeat and field not in NOT_REPEATED):
            typed[f"{mine}{field}"] = str(typed[name])
    return number


def add_line(typed: QueryDict, kind: str) -> int:
    number = max(line_numbers(typed, kind), default=-1) + 1
    typed[f"{kind}-{number}-{'hours' if kind == 'labour' else 'amount'}"] = ""
    return number


def drop(typed: QueryDict, block: str) -> None:
    for name in [name for name in typed if name.startswith(f"{block}-")]:
        del typed[name]


def swap_amount(typed: QueryDict, batch: str) -> None:
    """A and B were typed the wrong way round: turn the amounts, and forget the remark's reason."""
    name = f"{batch}-amount"
    terms = [term.strip() for term in re.split(r"\+|&|\band\b", typed.get(name, ""))]
    if len(terms) == 2:
        typed[name] = f"{terms[1]} + {terms[0]}"

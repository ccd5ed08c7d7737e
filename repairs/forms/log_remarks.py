"""Remarks on an entry, each set beside the field that it is about, with a line for its reason."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django import forms
from django.forms.boundfield import BoundField
from django.http import QueryDict

from config.measured_words import in_units
from repairs.logbook.placed import PlacedRemark, asked_with

from .log_base import BlockForm
from .log_entry import Placed

if TYPE_CHECKING:
    from .log_page import LogPage

REASON = "reason-"
MOST_REASON = 500


@dataclass(frozen=True)
class ShownRemark:
    key: str
    level: str
    found: str
    limit: str
    source: str
    advice: str
    reason_field: BoundField | None = None
    # The reason typed for an earlier remark with the same cause answers this one too.
    same: bool = False


class ReasonsForm(BlockForm):
    """One line for each warning. What was typed for a remark that is gone is passed over."""

    def __init__(self, typed: QueryDict, remarks: Iterable[PlacedRemark], *, quiet: bool) -> None:
        super().__init__(typed, quiet=quiet)
        remarks = list(remarks)
        firsts = set(asked_with(remarks).values())
        for placed in remarks:
            if placed.remark.level == "warning" and placed.key in firsts:
                self.fields[REASON + placed.key] = forms.CharField(
                    label="Reason for going on all the same",
                    max_length=MOST_REASON,
                    widget=forms.Textarea(attrs={"rows": 1}),
                    error_messages={"required": "Type a reason, or put the entry right."},
                )


def reasons_in(typed: QueryDict) -> dict[str, str]:
    return {
        name.removeprefix(REASON): value.strip()[:MOST_REASON]
        for name, value in typed.items()
        if name.startswith(REASON) and isinstance(value, str) and value.strip()
    }


# Which field each remark is about. The usual one of a batch is its amount, of a stage its time.
FIELDS: dict[str, str] = {
    # of a batch
    **dict.fromkeys(
        ("expired", "held-back", "other-part", "other-product", "used-before-received",
         "unlike-lots", "units-differ"), "lot"),
    **dict.fromkeys(("after-working-time", "working-time-near", "applied-before-mixed"), "used"),
    **dict.fromkeys(("in-the-future", "too-long-ago"), "mixed"),
    "more-wasted-than-mixed": "waste",
    # of a stage, or of a batch with its own weather
    **dict.fromkeys(("layer-thin", "layer-thick", "thickness-not-recorded", "no-thickness"),
                    "thickness"),
    **dict.fromkeys(("too-cold", "too-hot", "weather-not-recorded"), "air_c"),
    **dict.fromkeys(("near-dew-point", "dew-not-judged"), "surface_c"),
    **dict.fromkeys(("wood-wet", "moisture-not-recorded"), "moisture_pct"),
    **dict.fromkeys(("recoat-missed", "wash-not-recorded"), "washed_and_abraded"),
    **dict.fromkeys(("more-than-is-left", "nothing-taken"), "earlier_amount"),
    "ends-before-it-begins": "until",
    # of the repair as a whole
    "no-engineer-note": "engineer_note",
    "lead-paint": "lead_note",
    **dict.fromkeys(("cause-open", "cause-not-known"), "temporary"),
    **dict.fromkeys(
        ("third-repair", "first-follows", "follows-none", "follows-elsewhere",
         "follows-withdrawn"), "relation"),
    "defect-elsewhere": "defects",
}  # fmt: skip
# About what a stage was done with, more than about the stage.
OF_PRODUCT = ("heat-", "cure-not-known")
SWAPPED = "swapped"


def _field(form: BlockForm, code: str, usual: str) -> str:
    if code.startswith(("too-cold", "too-hot")) and form.typed("surface_c"):
        return "surface_c"
    name = next((FIELDS[known] for known in FIELDS if code.startswith(known)), usual)
    return name if name in form.fields else usual


def show_remarks(
    page: LogPage, placed: Placed, remarks: Iterable[PlacedRemark], *, asked: bool
) -> int:
    """Set each remark beside its field; answers how many warnings still want a reason.
    `asked` marks the missing reasons as errors."""
    remarks = list(remarks)
    reasons = ReasonsForm(page.typed, remarks, quiet=not asked)
    for one in remarks:
        name = REASON + one.key
        shown = ShownRemark(
            key=one.key,
            level=one.remark.level,
            found=in_units(one.remark.found, page.known.system),
            limit=in_units(one.remark.limit, page.known.system),
            source=one.remark.source,
            advice=in_units(one.remark.advice, page.known.system),
            reason_field=reasons[name] if name in reasons.fields else None,
            same=one.remark.level == "warning" and name not in reasons.fields,
        )
        _attach(page, placed, one, shown)
    page.reasons = reasons
    given = reasons_in(page.typed)
    return sum(name.removeprefix(REASON) not in given for name in reasons.fields)


def _attach(page: LogPage, placed: Placed, one: PlacedRemark, shown: ShownRemark) -> None:
    where, code = one.where, one.remark.code
    if where.stage is None and code in page.rates.fields:
        page.rates.attach(code, shown)
    elif where.stage is None:
        name = _field(page.repair, code, "")
        if not name or (name == "relation" and not page.repair.earlier):
            page.remarks.append(shown)
        else:
            page.repair.attach(name, shown)
    elif where.batch is None:
        form, batches = placed.stages[where.stage], placed.batches[where.stage]
        if batches and code.startswith(OF_PRODUCT):
            batches[0].attach("lot", shown)
        else:
            form.attach(_field(form, code, "at"), shown)
    else:
        batch = placed.batches[where.stage][where.batch]
        batch.attach(_field(batch, code, "amount"), shown)
        batch.can_swap = batch.can_swap or code == SWAPPED

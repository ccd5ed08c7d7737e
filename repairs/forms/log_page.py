"""The log page as one thing: its blocks in the order of the work, filled from what is typed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

from django.http import QueryDict

from repairs.due.facts_for import is_temporary
from repairs.logbook.drafts import read_key
from repairs.models import Draft, Plan, Repair

from .log_base import BlockForm
from .log_batch import BatchForm
from .log_known import Known
from .log_money import CostForm, LabourForm
from .log_photographs import MOMENTS, NewPhotographs, rows_for_new
from .log_rates import RatesForm
from .log_stage import StageForm
from .log_times import read_day
from .log_typed import USUAL_STAGES, batch_numbers, line_numbers, stage_mark, stage_numbers
from .log_what import NewDefectForm, RepairForm

# The place that a block copied by the page's script puts its own number in.
COPY_STAGE, COPY_BATCH, COPY_LINE = "__stage__", "__batch__", "__line__"


@dataclass(frozen=True)
class Wrong:
    """One line of the list at the top: where it is, and what is the matter."""

    id: str
    place: str
    sentence: str


def link_to(bound: Any) -> str:
    return str(bound.id_for_label or bound.auto_id)


def wrong_with(remark: Any, bound: Any, place: str) -> Wrong | None:
    """A remark that stands in the way: a stop, or a warning whose reason is missing."""
    if remark.level == "stop":
        return Wrong(link_to(bound) if bound else "log", place, f"{remark.found} {remark.advice}")
    if remark.reason_field is not None and remark.reason_field.errors:
        return Wrong(link_to(remark.reason_field), place, remark.found)
    return None


class LogPage:
    """All blocks. `quiet` shows what is typed without judging it."""

    def __init__(
        self, typed: QueryDict, known: Known, *, draft: Draft | None = None, quiet: bool = True
    ) -> None:
        self.typed, self.known, self.quiet = typed, known, quiet
        self.user, self.at, self.member = known.user, known.at, known.member
        self.key: UUID = read_key(typed.get("key", "")) or uuid4()
        self.draft = draft if draft and draft.kept else None
        self.photographs = list(draft.photographs.all()) if draft else []
        self._choices: dict[str, Any] = {}
        self._set_out_blocks()
        self.messages: list[str] = []
        self.photograph_errors: dict[str, list[str]] = {}
        self.remarks: list[Any] = []  # about the repair as a whole
        self.waiting = 0  # warnings that still want a reason
        self.checked = False  # looked through, and nothing wants a reason
        self.kept_without_photograph = False
        self.reasons: BlockForm | None = None
        if typed.get("member") and self.member is None:
            self.say("That member is not in your records. Choose it again.")
        if typed.get("continues") and known.continues is None:
            self.say(
                "The repair that this adds to is no longer in work. Copy what you need, and log "
                "it as a repair of its own."
            )

        if typed.get("plan") and known.plan is None:
            self.say(
                "The plan that this was filled in from is no longer planned: it was logged or "
                "dropped. What you typed is kept; save again to log it without the plan."
            )

    def _set_out_blocks(self) -> None:
        self.repair = RepairForm(self.typed, known=self.known, **self._with())
        self.new_defect = NewDefectForm(self.typed, prefix="new-defect", **self._with())
        self.stages = [
            self._stage(number, str(place))
            for place, number in enumerate(stage_numbers(self.typed), start=self.first_number())
        ]
        self.labour: list[LabourForm] = self._lines(LabourForm, "labour")
        self.costs: list[CostForm] = self._lines(CostForm, "cost")
        self.rates = self._rates()

    def _with(self) -> dict[str, Any]:
        known = self.known
        return {"quiet": self.quiet, "system": known.system, "currency": known.currency}

    def _stage(self, number: int | str, place: str) -> StageForm:
        form = StageForm(
            self.typed,
            prefix=f"stage-{number}",
            number=place,
            first=place == str(self.first_number()),
            untouched=number != COPY_STAGE and self._as_planned(int(number)),
            zone=self.known.zone,
            mixed_lately=self.known.mixed_lately,
            **self._with(),
        )
        before: BatchForm | None = None
        numbers: list[int | str] = [COPY_BATCH]
        if number != COPY_STAGE:
            numbers = [*batch_numbers(self.typed, int(number))]
        for count, batch in enumerate(numbers, start=1):
            before = self._batch(form, batch, str(count), before)
            form.batches.append(before)
        return form

    def _as_planned(self, number: int) -> bool:
        """Whether a stage stands as the plan filled it in, so that nobody said it was done."""
        mark = self.typed.get(f"stage-{number}-planned")
        return bool(mark) and mark == stage_mark(self.typed, number)

    def _batch(
        self, stage: StageForm, number: int | str, place: str, before: BatchForm | None
    ) -> BatchForm:
        kind = stage.typed("kind")
        if kind not in self._choices:
            self._choices[kind] = self.known.stock.choices(kind)
        return BatchForm(
            self.typed,
            prefix=f"{stage.prefix}-batch-{number}",
            stock=self.known.stock,
            choices=self._choices[kind],
            number=place,
            before=before,
            stage=stage.place_in_words(),
            **self._with(),
        )

    def _lines(self, form: type[BlockForm], kind: str) -> list[Any]:
        return [
            form(self.typed, prefix=f"{kind}-{number}", **self._with())
            for number in line_numbers(self.typed, kind)
        ]

    @property
    def goes_on(self) -> Repair | None:
        return self.known.continues

    @property
    def plan(self) -> Plan | None:
        return self.known.plan

    @property
    def temporary(self) -> bool:
        return self.goes_on is not None and is_temporary(self.goes_on)

    @property
    def may_be_temporary(self) -> bool:
        return self.goes_on is None or self.temporary

    def first_number(self) -> int:
        """The number of the first stage that is asked: those in the record come before it."""
        before = self.known.continues
        return (
            1 + max((stage.position for stage in before.stages.all()), default=0) if before else 1
        )

    def costs_open(self) -> bool:
        return self.repair.more_open() or any(line.counts() or line.errors for line in self.costs)

    def next_looks(self) -> tuple[str, str]:
        """The day by the rules, counted from the last day that is typed: of a lasting repair, and
        of a temporary one."""
        if self.goes_on and self.goes_on.kind == Repair.Kind.REPAINT:
            return "", ""
        typed = [day for stage in self.stages if (day := read_day(stage.typed("on")))]
        today = self.known.today
        return self.known.next_looks(min(max(typed, default=today), today))

    def _rates(self) -> RatesForm:
        known, chosen = self.known, [batch.typed("lot") for batch in self.batches()]
        offers = known.stock.offers if known.foreign else {}
        paid_in = {value: offer.currencies & known.foreign for value, offer in offers.items()}
        costs = {line.currency for line in self.costs if line.counts()} - {known.currency}
        needed = costs.union(*(paid_in.get(value, set()) for value in chosen))
        currencies = known.foreign | needed
        return RatesForm(
            self.typed,
            currencies=currencies,
            needed=needed,
            lots={
                currency: [value for value, money in paid_in.items() if currency in money]
                for currency in currencies
            },
            last={currency: known.last_rate(currency) for currency in currencies},
            **self._with(),
        )

    def batches(self) -> Iterable[BatchForm]:
        for stage in self.stages:
            yield from stage.batches

    moments = MOMENTS

    # For the page's script: one empty block of each kind, to be copied in the browser.

    def stage_to_copy(self) -> StageForm:
        return self._quietly(lambda: self._stage(COPY_STAGE, "?"))

    def batch_to_copy(self) -> BatchForm:
        stage = self.stage_to_copy()
        return stage.batches[0]

    def labour_to_copy(self) -> LabourForm:
        return LabourForm(
            self.typed, prefix=f"labour-{COPY_LINE}", **{**self._with(), "quiet": True}
        )

    def cost_to_copy(self) -> CostForm:
        return CostForm(self.typed, prefix=f"cost-{COPY_LINE}", **{**self._with(), "quiet": True})

    def _quietly(self, make: Any) -> Any:
        was, self.quiet = self.quiet, True
        try:
            return make()
        finally:
            self.quiet = was

    # What went wrong

    def say(self, sentence: str) -> None:
        self.messages.append(sentence)

    def usual_stages(self) -> str:
        """For the page's script: `repaint=prime,paint;…`."""
        return ";".join(f"{kind}={','.join(stages)}" for kind, stages in USUAL_STAGES.items())

    def blocks(self) -> Iterable[BlockForm]:
        yield self.repair
        yield self.new_defect
        for stage in self.stages:
            yield stage
            yield from stage.batches
        yield from self.labour
        yield from self.costs
        yield self.rates

    def has_errors(self) -> bool:
        return bool(self.messages or self.photograph_errors) or any(
            block.errors for block in self.blocks()
        )

    def stage_errors(self) -> bool:
        return any(form.errors for stage in self.stages for form in (stage, *stage.batches))

    def wrong(self) -> list[Wrong]:
        """All that stands in the way, for the list at the top, each with a link to its place."""
        lines = [
            Wrong(f"id_photographs-{moment}", "Photographs", sentence)
            for moment, sentences in self.photograph_errors.items()
            for sentence in sentences
        ]
        for block in self.blocks():
            for bound in block:
                place = f"{block.place_in_words()}{bound.label}"
                for error in bound.errors:
                    lines.append(Wrong(link_to(bound), place, str(error)))
                for remark in getattr(bound, "remarks", []):
                    if line := wrong_with(remark, bound, place):
                        lines.append(line)
        lines.extend(
            line for remark in self.remarks if (line := wrong_with(remark, None, "The repair"))
        )
        return lines

    def new_photographs(self) -> list[NewPhotographs]:
        return rows_for_new(self.photograph_errors)

    def lots_of_a(self) -> list[str]:
        return self.known.stock.numbers("a")

    def lots_of_b(self) -> list[str]:
        return self.known.stock.numbers("b")

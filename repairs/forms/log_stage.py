"""One stage on the log page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from config.quantities import Quantity
from config.quantity_fields import QuantityField
from repairs.models import Batch, Stage

from .log_base import (
    BlockForm,
    amount_text,
    day,
    note,
    percent,
    read_amount,
    time_of_day,
)
from .log_times import AGAIN_CHOICES, checked_day, day_of, instant

if TYPE_CHECKING:
    from .log_batch import BatchForm

WASHED = [("", "Not recorded"), ("yes", "Yes"), ("no", "No")]
WEATHER = ("air_c", "surface_c", "humidity_pct")
MORE = (
    "until", "moisture_pct", "washed_and_abraded", "notes", "again",
)  # fmt: skip


def temperature(label: str) -> QuantityField:
    return QuantityField(Quantity.TEMPERATURE, label=label, required=False, hint=False)


class StageForm(BlockForm):
    silent = ("kind", "on", "again")

    kind = forms.ChoiceField(
        label="Stage", choices=[("", "Choose the stage"), *Stage.Kind.choices], required=False
    )
    on = day("Day")
    at = time_of_day("Began")
    again = forms.ChoiceField(
        label="Which of the two times?", choices=AGAIN_CHOICES, required=False,
        widget=forms.RadioSelect,
    )  # fmt: skip
    thickness = QuantityField(
        Quantity.LENGTH, label="Thickness of the layer", required=False, hint=False
    )
    air_c = temperature("Air")
    surface_c = temperature("Surface")
    humidity_pct = percent("Humidity")
    until = time_of_day("Ended")
    moisture_pct = percent("Wood moisture before it", 200)
    washed_and_abraded = forms.ChoiceField(
        label="Layer below washed and abraded first", choices=WASHED, required=False,
        widget=forms.RadioSelect,
    )  # fmt: skip
    earlier = forms.ChoiceField(label="Which batch", required=False)
    earlier_amount = amount_text("How much of it", "40 g")
    notes = note("Notes on this stage")

    def __init__(
        self,
        *args: Any,
        mixed_lately: Mapping[str, Batch],
        number: str = "1",
        first: bool = False,
        untouched: bool = False,
        zone: tzinfo = UTC,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.untouched = untouched
        self.number, self.first, self.mixed_lately = number, first, mixed_lately
        earlier: Any = self.fields["earlier"]
        offered = ((pk, _words(one, zone)) for pk, one in mixed_lately.items())
        earlier.choices = [("", "None"), *offered]
        self.batches: list[BatchForm] = []

    @property
    def place(self) -> str:
        """The number in its names; the one that is shown counts without gaps."""
        return (self.prefix or "").removeprefix("stage-")

    def place_in_words(self) -> str:
        return f"{self.number}. {self.title()}, "

    def title(self) -> str:
        kind = self.typed("kind")
        return str(Stage.Kind(kind).label) if kind in Stage.Kind.values else "Another stage"

    def is_open(self) -> bool:
        """The first one, one that holds something or was just added, one that a plan filled in,
        and one with an error."""
        wrong = bool(self.errors) or any(batch.errors for batch in self.batches)
        if self.planned_mark():
            return True
        return self.first or not self.typed("kind") or wrong or self.counts()

    def takes_a_layer(self) -> bool:
        """Whether the thickness is asked first rather than folded away."""
        return self.typed("kind") == Stage.Kind.FILL

    def planned_mark(self) -> str:
        """What the plan filled in, in short; empty for a stage that no plan filled in."""
        return self.typed("planned")

    def asks_which_time(self) -> bool:
        return bool(self.typed("again")) or self.has_error("at", "which-time")

    def weather_open(self) -> bool:
        """Asked once, in the first stage; in the others it is folded away until it is needed."""
        return self.first or self.needs_attention(*WEATHER)

    def more_open(self) -> bool:
        names = MORE if self.takes_a_layer() else (*MORE, "thickness")
        return self.needs_attention(*names)

    def earlier_open(self) -> bool:
        return self.needs_attention("earlier", "earlier_amount")

    def counts(self) -> bool:
        """A stage that only carries what was set out for it, by habit or by a plan, was not
        done."""
        if self.untouched:
            return False
        return self.says_something() or any(batch.counts() for batch in self.batches)

    def clean_earlier(self) -> Batch | None:
        return self.mixed_lately.get(self.cleaned_data["earlier"])

    def clean_earlier_amount(self) -> Decimal | None:
        """In the unit in which the earlier batch was mixed."""
        text, batch = self.cleaned_data["earlier_amount"], self.cleaned_data.get("earlier")
        if not text or batch is None:
            return None
        amount, unit = read_amount(text, self.system), _unit_of(batch)
        if len(amount.parts) != 1 or amount.parts[0].unit != unit:
            raise ValidationError(
                f"Type one amount in {unit}, as it was mixed, such as 40 {unit}.",
                code="other-unit",
            )
        return amount.parts[0].value

    def clean_washed_and_abraded(self) -> bool | None:
        return {"yes": True, "no": False}.get(self.cleaned_data["washed_and_abraded"])

    def clean_thickness(self) -> Any:
        thickness = self.cleaned_data["thickness"]
        if thickness is not None and thickness <= 0:
            raise ValidationError(
                "A layer is thicker than nothing. Leave it empty if it was not measured.",
                code="zero",
            )
        return thickness

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("kind") and "kind" not in self.errors:
            self.add_error("kind", "Choose which stage this was.")
        half = bool(self.typed("earlier")) != bool(self.typed("earlier_amount"))
        if half:
            self.add_error(
                "earlier_amount" if cleaned.get("earlier") else "earlier",
                "Give both the earlier batch and how much of it went into this stage.",
            )
        return cleaned


def _unit_of(batch: Batch) -> str:
    return next((part.lot.unit for part in batch.parts.all()), "g")


def _words(batch: Any, zone: tzinfo) -> str:
    left = f"{batch.left_over_amount.normalize():f} {_unit_of(batch)} left over"
    mixed = f"mixed {batch.mixed_at.astimezone(zone):%-d %b %H:%M}"
    place = f" for {batch.mixed_for.repair.member.mark}" if batch.mixed_for else ""
    return f"{left} of {batch.sheet.product.name}, {mixed}{place}"


@dataclass(frozen=True)
class StageTimes:
    day: date
    began_at: datetime | None
    ended_at: datetime | None


def stage_times(
    form: StageForm, day_before: date | None, today: date, zone: ZoneInfo, *, day_unclear: bool
) -> StageTimes | None:
    """When the stage began and ended; its day is that of the stage before where none was typed.
    Errors go to the fields they are about, and then there is no answer; where the day of the
    stage before could not be read, that is error enough."""
    cleaned = form.cleaned_data
    on = cleaned.get("on") or day_before
    if form.has_error("on") or form.has_error("at") or form.has_error("until"):
        return None
    if on is None:
        if not day_unclear:
            form.add_error("on", "Type the day on which it was done.")
        return None
    field = "on"
    try:
        checked_day(on, today)
        field = "at"
        at, until = cleaned.get("at"), cleaned.get("until")
        began = instant(on, at, zone, cleaned.get("again", "")) if at else None
        field = "until"
        ended = instant(day_of(until, on, at), until, zone, "second") if until else None
        if began and ended and ended < began:
            raise ValidationError("The stage ends before it begins.", code="ends-before")
    except ValidationError as error:
        form.add_error(field, error)
        return None
    return StageTimes(on, began, ended)

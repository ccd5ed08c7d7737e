"""Defects found on members, and moisture readings."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import above_zero
from properties.classes import CONDITION_CHOICES, URGENCY_CHOICES
from properties.moisture import OVER_RANGE_PCT, CorrectedReading, correct

from .members import Member, YesNoUnknown, Zone
from .owners import Property, on_one_of


def _size(name: str) -> models.DecimalField:
    return models.DecimalField(
        name,
        max_digits=9,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01"))],
    )


def _values_saying(word: str, choices: type[models.TextChoices]) -> list[str]:
    return [value for value, label in choices.choices if word.lower() in str(label).lower()]


class DefectQuerySet(models.QuerySet["Defect"]):
    def outstanding(self) -> DefectQuerySet:
        """Seen and not yet made good; the twin of `Defect.is_outstanding`."""
        return self.filter(
            state__in=[Defect.State.OPEN, Defect.State.IN_WORK, Defect.State.WATCHED]
        )

    def on_what_stands(self) -> DefectQuerySet:
        """Leaves out members taken out and buildings demolished."""
        return self.filter(
            member__removed_on__isnull=True, member__building__demolished_on__isnull=True
        )

    def within(self, properties: models.QuerySet[Property]) -> DefectQuerySet:
        return self.filter(on_one_of(properties, "member__building__property"))

    def most_urgent_first(self) -> DefectQuerySet:
        return self.order_by(
            F("urgency").desc(nulls_last=True),
            F("condition").desc(nulls_last=True),
            "found_on",
            "pk",
        )

    def with_place(self) -> DefectQuerySet:
        return self.select_related("member__building__property", "member__elevation")

    def matching(self, text: str) -> DefectQuerySet:
        """Defects of which every word of the text is in the mark, place, kind or cause."""
        found = self
        for word in text.replace("\0", "").split()[:8]:
            found = found.filter(
                Q(member__mark__icontains=word)
                | Q(member__building__name__icontains=word)
                | Q(member__building__property__name__icontains=word)
                | Q(kind__in=_values_saying(word, Defect.Kind))
                | Q(cause__in=_values_saying(word, Defect.Cause))
                | Q(cause_note__icontains=word)
            )
        return found


class Defect(models.Model):
    """Damage found on a member, with its cause."""

    class Kind(models.TextChoices):
        DECAY = "decay", "Decay"
        INSECT = "insect", "Insect"
        SPLIT = "split", "Split"
        WEATHERING = "weathering", "Weathering"
        FAILED_JOINT = "failed_joint", "Failed joint"
        FAILED_COATING = "failed_coating", "Failed coating"
        IMPACT = "impact", "Impact"
        FAILED_REPAIR = "failed_repair", "Failed earlier repair"

    class Cause(models.TextChoices):
        GUTTER = "gutter", "Gutter or downpipe"
        FLASHING = "flashing", "Flashing"
        OPEN_JOINT = "open_joint", "Open joint"
        END_GRAIN = "end_grain", "End grain not sealed"
        GROUND = "ground", "Ground contact or splash"
        NO_SLOPE = "no_slope", "No slope or drip"
        SEALANT = "sealant", "Failed sealant or putty"
        COATING = "coating", "Coating worn or trapping water"
        CONDENSATION = "condensation", "Condensation"
        PLANTS = "plants", "Plants against the timber"
        INSECTS = "insects", "Insects"
        KNOCK = "knock", "Knock or wear"
        EARLIER_REPAIR = "earlier_repair", "Earlier repair"
        OTHER = "other", "Other"
        UNKNOWN = "unknown", "Not yet found"

    class CauseState(models.TextChoices):
        PUT_RIGHT = "put_right", "Put right"
        NOT_YET = "not_yet", "Not yet put right"
        CANNOT = "cannot", "Cannot be put right"
        UNKNOWN = "unknown", "Not known"

    class SectionLoss(models.TextChoices):
        UNDER_5 = "0_5", "Under 5 %"
        TO_20 = "5_20", "5 to 20 %"
        TO_50 = "20_50", "20 to 50 %"
        OVER_50 = "50_100", "Over 50 %"
        UNKNOWN = "unknown", "Not known"

    class State(models.TextChoices):
        OPEN = "open", "Open"
        IN_WORK = "in_work", "In work"
        MADE_GOOD = "made_good", "Made good"
        WATCHED = "watched", "Watched"
        SUPERSEDED = "superseded", "Superseded"

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="defects")
    zone = models.CharField(
        max_length=5,
        choices=Zone,
        default=Zone.WHOLE,
        help_text="Left and right as seen from outside facing the wall.",
    )
    kind = models.CharField(max_length=14, choices=Kind)
    found_on = models.DateField()
    found_by = models.CharField(max_length=120, blank=True)
    cause = models.CharField(max_length=14, choices=Cause, default=Cause.UNKNOWN)
    cause_state = models.CharField(
        "is the cause put right", max_length=9, choices=CauseState, default=CauseState.UNKNOWN
    )
    cause_put_right_on = models.DateField(null=True, blank=True)
    cause_note = models.CharField(max_length=300, blank=True)
    length_mm = _size("length")
    width_mm = _size("width")
    depth_mm = _size("depth")
    probe_mm = _size("probe goes in")
    section_loss = models.CharField(max_length=7, choices=SectionLoss, default=SectionLoss.UNKNOWN)
    condition = models.CharField(
        "condition class",
        max_length=3,
        blank=True,
        choices=CONDITION_CHOICES,
        help_text="EN 16096.",
    )
    urgency = models.CharField(
        "urgency class", max_length=3, blank=True, choices=URGENCY_CHOICES, help_text="EN 16096."
    )
    structural_concern = models.CharField(
        max_length=7,
        choices=YesNoUnknown,
        default=YesNoUnknown.UNKNOWN,
        help_text="Loss in a member that carries load: a licensed engineer decides.",
    )
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    closed_on = models.DateField(null=True, blank=True)
    superseded_by = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="supersedes"
    )
    notes = models.TextField(blank=True, max_length=5000)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    objects = DefectQuerySet.as_manager()

    class Meta:
        ordering = ["member", "-found_on", "-pk"]
        indexes = [models.Index(fields=["state", "urgency"], name="defect_state_urgency")]
        constraints = [
            models.CheckConstraint(
                condition=Q(closed_on__isnull=True) | Q(closed_on__gte=F("found_on")),
                name="defect_closed_after_found",
                violation_error_message="It cannot be closed before it was found.",
            ),
            models.CheckConstraint(
                condition=Q(cause_put_right_on__isnull=True) | Q(cause_state="put_right"),
                name="defect_cause_date_fits_state",
                violation_error_message="A date needs the cause to be 'put right'.",
            ),
            models.CheckConstraint(
                condition=Q(closed_on__isnull=True) | Q(state__in=["made_good", "superseded"]),
                name="defect_closed_on_fits_state",
                violation_error_message="It is not closed in that state.",
            ),
            models.CheckConstraint(
                condition=Q(superseded_by__isnull=True) | ~Q(superseded_by=F("id")),
                name="defect_not_its_own_successor",
            ),
            *(
                above_zero(
                    name,
                    f"defect_{name}_positive",
                    "A size is above zero; leave it empty if not known.",
                )
                for name in ("length_mm", "width_mm", "depth_mm", "probe_mm")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.get_zone_display().lower()} of {self.member.mark}"

    def get_absolute_url(self) -> str:
        return reverse("defect-detail", args=[self.pk])

    def clean(self) -> None:
        if self.superseded_by_id and self.superseded_by_id == self.pk:
            raise ValidationError({"superseded_by": "A defect cannot supersede itself."})

    def is_outstanding(self) -> bool:
        return self.state in {self.State.OPEN, self.State.IN_WORK, self.State.WATCHED}


class MoistureReading(models.Model):
    """A meter reading with its corrections, in % of oven-dry mass."""

    class Meter(models.TextChoices):
        PIN = "pin", "Pins"
        PIN_INSULATED = "pin_insulated", "Insulated pins"
        PINLESS = "pinless", "No pins"
        OVEN = "oven", "Oven-dry sample"
        UNKNOWN = "unknown", "Not known"

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="moisture_readings")
    defect = models.ForeignKey(
        Defect, null=True, blank=True, on_delete=models.PROTECT, related_name="moisture_readings"
    )
    zone = models.CharField(max_length=5, choices=Zone, default=Zone.WHOLE)
    taken_at = models.DateTimeField()
    taken_by = models.CharField(max_length=120, blank=True)
    raw_pct = models.DecimalField(
        "reading",
        max_digits=4,
        decimal_places=1,
        validators=[MinValueValidator(0), MaxValueValidator(200)],
        help_text="As the meter shows it, % of oven-dry mass.",
    )
    corrected_pct = models.DecimalField(
        "corrected",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        help_text="Empty where no correction is known.",
    )
    correction = models.CharField(max_length=300, blank=True, help_text="How it was corrected.")
    meter = models.CharField(max_length=13, choices=Meter, default=Meter.UNKNOWN)
    meter_name = models.CharField(max_length=80, blank=True)
    depth_mm = models.DecimalField(
        "depth",
        max_digits=6,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
    )
    wood_c = models.DecimalField(
        "temperature of the wood", max_digits=4, decimal_places=1, null=True, blank=True
    )
    treated = models.CharField(
        "treated with salts or preservative",
        max_length=7,
        choices=YesNoUnknown,
        default=YesNoUnknown.UNKNOWN,
    )
    note = models.CharField(max_length=300, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["-taken_at", "-pk"]
        indexes = [models.Index(fields=["member", "-taken_at"], name="moisture_member_taken")]
        constraints = [
            models.CheckConstraint(
                condition=Q(raw_pct__gte=0, raw_pct__lte=200),
                name="moisture_raw_range",
                violation_error_message="A reading runs from 0 to 200 % of oven-dry mass.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.raw_pct} % on {self.member}"

    def clean(self) -> None:
        if self.defect and self.member_id and self.defect.member_id != self.member_id:
            raise ValidationError({"defect": "That defect is on another member."})

    def raw_shown(self) -> str:
        """As the meter showed it; over 30 % a meter can tell no more than that."""
        if self.meter != self.Meter.OVEN and self.raw_pct > OVER_RANGE_PCT:
            return f">{OVER_RANGE_PCT} %"
        return f"{self.raw_pct.normalize():f} %"

    def judged(self, set_for: str = "") -> CorrectedReading:
        """The reading as it counts: by the correction kept with it, else by the usual one, from
        the species that the meter was set for to that of the member."""
        if self.corrected_pct is not None:
            over = self.meter != self.Meter.OVEN and self.corrected_pct > OVER_RANGE_PCT
            return CorrectedReading(self.raw_pct, self.corrected_pct, over, self.correction)
        known = self.wood_c is not None and -40 <= self.wood_c <= 60
        return correct(
            self.raw_pct,
            wood_c=self.wood_c if known else None,
            treated=YesNoUnknown(self.treated).value,
            meter=self.meter,
            species=self.member.species if set_for else "",
            set_for=set_for,
        )

    def keep_correction(self, set_for: str = "") -> None:
        """Fill what the reading comes to and how, before it is saved."""
        self.corrected_pct = None
        judged = self.judged(set_for)
        self.corrected_pct, self.correction = judged.pct, judged.basis[:300]

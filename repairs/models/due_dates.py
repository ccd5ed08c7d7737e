"""When to look again or repaint: the rules as data, and the dates they set."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, OuterRef, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import within
from properties.classes import CONDITION_CHOICES, USE_CLASS_CHOICES
from properties.models import Member, Property
from properties.models.looked_after import of_looked_after_members
from properties.models.owners import on_one_of
from repairs.due.facts import LookFacts
from repairs.due.series import FixedDays, Series, Standing, Steps

from .repairs import Repair


class DueKind(models.TextChoices):
    REPAIR_LOOK = "repair_look", "Look at the repair"
    COATING_LOOK = "coating_look", "Look at the coating"
    REPAINT = "repaint", "Repaint"
    MEMBER_LOOK = "member_look", "Look at the member"


class DueRuleQuerySet(models.QuerySet["DueRule"]):
    def in_force(self) -> DueRuleQuerySet:
        return self.filter(in_force=True)


def first_fitting(rules: Iterable[DueRule], facts: LookFacts) -> DueRule | None:
    """The rules are read from the top: the first that fits sets the date."""
    fitting = (rule for rule in rules if rule.fits(facts))
    return min(fitting, key=lambda rule: (rule.place, rule.code), default=None)


class DueRule(models.Model):
    """One rule of the rule set. Empty conditions fit everything; of the rules of one kind the
    first by `place` that fits sets the date. `first_months` are the first steps from the day of
    the work, such as '1, 6'; after them it returns every `then_months`. With `fixed_days` it
    returns on those days of each year instead. `seasons` and `frost_free` then move the day."""

    class Climate(models.TextChoices):
        LOW = "low", "Low decay hazard"
        MODERATE = "moderate", "Moderate decay hazard"
        HIGH = "high", "High decay hazard"

    code = models.SlugField(unique=True)
    kind = models.CharField(max_length=12, choices=DueKind)
    place = models.PositiveSmallIntegerField(default=0, help_text="Read from the lowest on.")
    temporary = models.BooleanField(null=True, help_text="Only for temporary (or lasting) repairs.")
    repair_kind = models.CharField(max_length=11, blank=True, choices=Repair.Kind)
    member_kind = models.CharField(max_length=14, blank=True, choices=Member.Kind)
    finish = models.CharField(max_length=21, blank=True, choices=Member.Finish)
    exposure = models.CharField(max_length=9, blank=True, choices=Member.Exposure)
    use_class = models.CharField(max_length=3, blank=True, choices=USE_CLASS_CHOICES)
    climate = models.CharField(max_length=8, blank=True, choices=Climate)
    worst_condition = models.CharField(
        "condition at the last look",
        max_length=3,
        blank=True,
        choices=CONDITION_CHOICES,
        help_text="This class of EN 16096 or a worse one.",
    )
    age_from_years = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(200)]
    )
    age_to_years = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(200)]
    )
    first_months = models.JSONField(default=list, blank=True)
    then_months = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(600)]
    )
    fixed_days = models.JSONField(
        default=list, blank=True, help_text="Days of the year as month-day, such as 04-15."
    )
    from_done = models.BooleanField(
        "counts from the day it was done",
        default=False,
        help_text="Else it keeps to the first date's season, however late the look was.",
    )
    seasons = models.JSONField(default=list, blank=True)
    frost_free = models.BooleanField("not in frost", default=False)
    window_days = models.PositiveSmallIntegerField(default=14, validators=[MaxValueValidator(366)])
    repaint_at = models.DecimalField(
        "repaint at class",
        max_digits=2,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.5")), MaxValueValidator(5)],
        help_text="The worst of flaking, cracking and blistering, ISO 4628. Empty: ratings move "
        "no date.",
    )
    latest_months = models.PositiveSmallIntegerField(
        "months at the latest",
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(600)],
        help_text="However good the ratings, it is repainted by then.",
    )
    words = models.CharField(max_length=300)
    source = models.CharField(max_length=300)
    in_force = models.BooleanField(default=True)
    history = HistoricalRecords()

    objects = DueRuleQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "place", "code"]
        constraints = [
            models.CheckConstraint(
                condition=Q(then_months__gte=1, then_months__lte=600),
                name="due_rule_months_range",
                violation_error_message="An interval runs from 1 to 600 months.",
            ),
            models.CheckConstraint(
                condition=Q(age_from_years__isnull=True)
                | Q(age_to_years__isnull=True)
                | Q(age_to_years__gt=F("age_from_years")),
                name="due_rule_ages_rise",
                violation_error_message="The age up to which it holds is above the first.",
            ),
            within("repaint_at", 0.5, 5, "due_rule_repaint_at_range", "From class 0.5 to 5."),
            models.CheckConstraint(
                condition=Q(kind="repaint")
                | Q(repaint_at__isnull=True, latest_months__isnull=True),
                name="due_rule_ratings_move_repaints",
                violation_error_message="Ratings move the date of a repaint, and of nothing else.",
            ),
            models.CheckConstraint(
                condition=Q(latest_months__isnull=True)
                | Q(latest_months__gte=F("then_months"), latest_months__lte=600),
                name="due_rule_latest_after_interval",
                violation_error_message="The latest is not before the interval itself.",
            ),
            models.CheckConstraint(
                condition=Q(window_days__lte=366),
                name="due_rule_window_range",
                violation_error_message="A window is a year at most.",
            ),
        ]

    def __str__(self) -> str:
        return self.words

    def get_absolute_url(self) -> str:
        return reverse("rule-edit", args=[self.pk])

    def fits(self, facts: LookFacts) -> bool:
        return not self.misfits(facts)

    def misfits(self, facts: LookFacts) -> list[str]:
        """The conditions, by name of field, that do not hold; empty where the rule fits."""
        wanted = {
            "repair_kind": facts.repair_kind,
            "member_kind": facts.member_kind,
            "finish": facts.finish,
            "exposure": facts.exposure,
            "use_class": facts.use_class,
            "climate": facts.climate,
        }
        wrong = [name for name, found in wanted.items() if getattr(self, name) not in ("", found)]
        if self.temporary is not None and self.temporary != facts.temporary:
            wrong.append("temporary")
        if self.worst_condition and facts.condition < self.worst_condition:
            wrong.append("worst_condition")
        if not facts.is_aged(self.age_from_years, self.age_to_years):
            wrong.append("age_from_years")
        return wrong

    def asks_more_than_the_member(self) -> bool:
        """Whether it asks for more than the kind, exposure, finish and use class of a member."""
        asked = (
            self.temporary, self.repair_kind, self.climate, self.worst_condition,
            self.age_from_years, self.age_to_years,
        )  # fmt: skip
        return any(each not in ("", None) for each in asked)

    def series(self) -> Series:
        if self.fixed_days:
            return FixedDays(tuple(self.fixed_days))
        return Steps(tuple(self.first_months), self.then_months, self.from_done)


class MemberInterval(models.Model):
    """A person's own interval for one member, in place of the rule set's."""

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="intervals")
    kind = models.CharField(max_length=12, choices=DueKind)
    months = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(600)]
    )
    reason = models.CharField(max_length=300)
    history = HistoricalRecords()

    class Meta:
        ordering = ["member", "kind"]
        constraints = [
            models.UniqueConstraint(fields=["member", "kind"], name="member_interval_once"),
            models.CheckConstraint(
                condition=Q(months__gte=1, months__lte=600),
                name="member_interval_months_range",
                violation_error_message="An interval runs from 1 to 600 months.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} every {self.months} months"


class DueDateQuerySet(models.QuerySet["DueDate"]):
    def outstanding(self) -> DueDateQuerySet:
        """Neither done nor called off; the twin of `DueDate.is_outstanding`."""
        return self.filter(done_on__isnull=True, cancelled_on__isnull=True)

    def reminding(self, on: date) -> DueDateQuerySet:
        """Outstanding on what still stands and is still looked after."""
        return self.outstanding().filter(of_looked_after_members(on, "member__"))

    def overdue(self, on: date) -> DueDateQuerySet:
        """Outstanding and past its day; the twin of `DueDate.is_overdue`."""
        return self.outstanding().filter(due_on__lt=on)

    def coming(self, on: date, until: date) -> DueDateQuerySet:
        return self.outstanding().filter(due_on__gte=on, due_on__lte=until)

    def looks(self) -> DueDateQuerySet:
        """Dates that a look answers; a repaint is answered by painting."""
        return self.exclude(kind=DueKind.REPAINT)

    def within(self, properties: models.QuerySet[Property]) -> DueDateQuerySet:
        return self.filter(on_one_of(properties, "member__building__property"))

    def with_own_months(self) -> DueDateQuerySet:
        """Adds `own_months`, a person's own interval for the member, and the repair."""
        own = MemberInterval.objects.filter(member=OuterRef("member"), kind=OuterRef("kind"))
        months = models.Subquery(own.values("months")[:1])
        return self.select_related("repair").annotate(own_months=months)

    def with_place(self) -> DueDateQuerySet:
        return self.select_related(
            "member__building__property", "member__elevation", "repair", "person"
        )


class DueDate(models.Model):
    """A day on which somebody is to look or repaint: a decision that a rule or a person took. It
    is the last day of a window that opens `window_days` before it."""

    class SetBy(models.TextChoices):
        RULE = "rule", "A rule"
        RATINGS = "ratings", "The ratings so far"
        PERSON = "person", "A person"

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="due_dates")
    repair = models.ForeignKey(
        Repair, null=True, blank=True, on_delete=models.PROTECT, related_name="due_dates"
    )
    kind = models.CharField(max_length=12, choices=DueKind)
    due_on = models.DateField()
    window_days = models.PositiveSmallIntegerField(default=14)
    # Where in the rule's series this date stands, so that the next one is known.
    step = models.PositiveSmallIntegerField(default=0)
    counted_from = models.DateField(help_text="The day that the rule counts from.")
    rule = models.ForeignKey(
        DueRule, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    set_by = models.CharField(max_length=7, choices=SetBy, default=SetBy.RULE)
    set_because = models.CharField(
        max_length=300, help_text="Which rule or person set it, and why."
    )
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="Who is to look.",
    )
    done_on = models.DateField(null=True, blank=True)
    cancelled_on = models.DateField(null=True, blank=True)
    cancelled_reason = models.CharField(max_length=300, blank=True)
    history = HistoricalRecords()

    objects = DueDateQuerySet.as_manager()

    class Meta:
        ordering = ["due_on", "pk"]
        indexes = [
            models.Index(
                fields=["due_on", "id"],
                name="due_outstanding",
                condition=Q(done_on__isnull=True, cancelled_on__isnull=True),
            ),
            models.Index(fields=["member", "due_on"], name="due_member"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(cancelled_on__isnull=True)
                | (Q(done_on__isnull=True) & ~Q(cancelled_reason="")),
                name="due_cancelled_with_reason",
                violation_error_message="Say why it is called off; what is done is not called off.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.member}, {self.due_on:%-d %B %Y}"

    def get_absolute_url(self) -> str:
        return reverse("due-detail", args=[self.pk])

    def is_outstanding(self) -> bool:
        return self.done_on is None and self.cancelled_on is None

    def is_overdue(self, on: date) -> bool:
        return self.is_outstanding() and self.due_on < on

    def days_late(self, on: date) -> int:
        """Days past its day: until it was done, or until `on` while it is outstanding."""
        return max(((self.done_on or on) - self.due_on) // timedelta(days=1), 0)

    def standing(self) -> Standing:
        return Standing(self.counted_from, self.due_on, self.step, self.window_days)

    def opens_on(self) -> date:
        """The first day of its window; the last is `due_on`."""
        return self.due_on - timedelta(days=self.window_days)

    def move(self, due_on: date, because: str, by: SetBy) -> None:
        self.due_on, self.set_because, self.set_by = due_on, because[:300], by
        self.save(update_fields=["due_on", "set_because", "set_by"])

    def answer(self, on: date) -> None:
        self.done_on = on
        self.save(update_fields=["done_on"])

    def call_off(self, on: date, reason: str) -> None:
        self.cancelled_on, self.cancelled_reason = on, reason[:300]
        self.save(update_fields=["cancelled_on", "cancelled_reason"])

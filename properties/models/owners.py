"""Owners, properties, and who owned what from when to when."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, available_timezones

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Count, F, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import within
from config.quantities import UnitSystem

from .looked_after import not_ended

if TYPE_CHECKING:
    from django.contrib.auth.models import AnonymousUser, User


def known_time_zone(value: str) -> None:
    if value not in available_timezones():
        raise ValidationError(
            f"'{value}' is not a time zone. Type one such as Europe/London or America/New_York."
        )


class OwnerQuerySet(models.QuerySet["Owner"]):
    def with_properties_held(self, on: date, within: models.QuerySet[Property]) -> OwnerQuerySet:
        """Counts which of those properties each holds on a day, as `held`."""
        holding = Q(ownerships__property__in=within, ownerships__from_on__lte=on) & (
            Q(ownerships__to_on__isnull=True) | Q(ownerships__to_on__gt=on)
        )
        return self.annotate(held=Count("ownerships__property", filter=holding, distinct=True))


class Owner(models.Model):
    name = models.CharField(max_length=200)
    is_body = models.BooleanField("a firm, trust or other body", default=False)
    contact = models.TextField(blank=True, max_length=1000, help_text="Address, telephone, e-mail.")
    notes = models.TextField(blank=True, max_length=5000)
    history = HistoricalRecords()

    objects = OwnerQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("owner-detail", args=[self.pk])


def on_one_of(properties: models.QuerySet[Property], path: str) -> Q:
    """The rows that stand on one of some properties, `path` being the way from row to property.
    Where all properties are meant nothing is asked, so that a list of all can be read in the
    order of its own index."""
    chosen = properties.query
    restricted = bool(chosen.where) or chosen.is_sliced or bool(chosen.combinator)
    return Q(**{f"{path}__in": properties}) if restricted else Q()


class PropertyQuerySet(models.QuerySet["Property"]):
    def visible_to(self, user: User | AnonymousUser) -> PropertyQuerySet:
        """All for those who may see every property, else only the ones given to the person."""
        if user.has_perm("properties.view_every_property"):
            return self
        return self.filter(people__user_id=user.pk) if user.pk else self.none()

    def looked_after(self, on: date) -> PropertyQuerySet:
        """Not given up yet; the twin of `Property.is_looked_after`."""
        return self.filter(not_ended(on, "given_up_on"))

    def held_by(self, owner: Owner, on: date) -> PropertyQuerySet:
        """What an owner holds on a day; the twin of `Property.owner_on`."""
        holding = Ownership.objects.filter(owner=owner, from_on__lte=on).filter(
            Q(to_on__isnull=True) | Q(to_on__gt=on)
        )
        return self.filter(pk__in=holding.values("property"))


class Property(models.Model):
    """A site with an address, held for one owner at a time, with one or more buildings."""

    name = models.CharField(max_length=200)
    address = models.TextField(max_length=1000)
    country = models.CharField(
        max_length=2,
        blank=True,
        help_text="Two letters, such as GB or US (ISO 3166-1).",
        validators=[RegexValidator(r"^[A-Z]{2}$", "Type two capital letters, such as GB.")],
    )
    time_zone = models.CharField(
        max_length=64, default="Europe/London", validators=[known_time_zone]
    )
    currency = models.CharField(
        max_length=3,
        default="GBP",
        help_text="Three letters, such as GBP (ISO 4217). Reports of this property add up in it.",
        validators=[RegexValidator(r"^[A-Z]{3}$", "Type three capital letters, such as GBP.")],
    )
    unit_system = models.CharField(
        max_length=6,
        default=UnitSystem.METRIC.value,
        choices=[
            (UnitSystem.METRIC.value, "Metric (mm, g, °C)"),
            (UnitSystem.US.value, "US (in, oz, °F)"),
        ],
    )
    lead_paint_ban_year = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1900), MaxValueValidator(2100)],
        help_text="Year of the local ban on lead paint, such as 1978 in the United States. "
        "Ask the local authority; paint from before it is presumed to hold lead.",
    )
    hot_day_c = models.DecimalField(
        "air on a hot day",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(-20), MaxValueValidator(60)],
        help_text="The hottest air to reckon with, for the heat of a face in the sun where no "
        "weather file is attached.",
    )
    given_up_on = models.DateField(
        null=True,
        blank=True,
        help_text="From this day no longer looked after, such as after a sale.",
    )
    given_up_reason = models.CharField(max_length=300, blank=True)
    notes = models.TextField(blank=True, max_length=5000)
    history = HistoricalRecords()

    objects = PropertyQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        verbose_name_plural = "properties"
        permissions = [
            ("view_every_property", "Can see every property"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(currency__regex=r"^[A-Z]{3}$"), name="property_currency_code"
            ),
            within("hot_day_c", -20, 60, "property_hot_day_range", "From -20 to 60 °C."),
            models.CheckConstraint(
                condition=Q(given_up_on__isnull=True) | ~Q(given_up_reason=""),
                name="property_given_up_with_reason",
                violation_error_message="Say why it is no longer looked after, such as 'sold'.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("property-detail", args=[self.pk])

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def day_of(self, at: datetime) -> date:
        """The date on site at an instant."""
        return at.astimezone(self.zone).date()

    def is_looked_after(self, on: date) -> bool:
        """The twin of `PropertyQuerySet.looked_after`."""
        return self.given_up_on is None or self.given_up_on > on

    def owner_on(self, on: date) -> Owner | None:
        for period in self.ownerships.all():
            if period.from_on <= on and (period.to_on is None or on < period.to_on):
                return period.owner
        return None


class OwnershipQuerySet(models.QuerySet["Ownership"]):
    def current(self) -> OwnershipQuerySet:
        return self.filter(to_on__isnull=True)


class Ownership(models.Model):
    """One owner's time with a property: from that day, up to but not including the last."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="ownerships")
    owner = models.ForeignKey(Owner, on_delete=models.PROTECT, related_name="ownerships")
    from_on = models.DateField("from")
    to_on = models.DateField("to", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    history = HistoricalRecords()

    objects = OwnershipQuerySet.as_manager()

    class Meta:
        ordering = ["property", "from_on"]
        constraints = [
            models.CheckConstraint(
                condition=Q(to_on__isnull=True) | Q(to_on__gt=F("from_on")),
                name="ownership_ends_after_it_begins",
                violation_error_message="The ownership ends before it begins.",
            ),
            models.UniqueConstraint(
                fields=["property"],
                condition=Q(to_on__isnull=True),
                name="ownership_one_current",
                violation_error_message="This property has a current owner; end that one first.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.property}: {self.owner} from {self.from_on}"

    def clean(self) -> None:
        if not self.property_id or not self.from_on:
            return
        others = Ownership.objects.filter(property_id=self.property_id).exclude(pk=self.pk)
        overlapping = others.filter(Q(to_on__isnull=True) | Q(to_on__gt=self.from_on))
        if self.to_on is not None:
            overlapping = overlapping.filter(from_on__lt=self.to_on)
        if other := overlapping.first():
            raise ValidationError(
                f"{other.owner} held it from {other.from_on:%-d %B %Y}; two owners at once "
                "cannot be. End the earlier ownership on the day of the change."
            )

"""A price index that the user keeps, to tell old money in today's."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import above_zero, within


class PriceIndexQuerySet(models.QuerySet["PriceIndex"]):
    def with_reach(self) -> PriceIndexQuerySet:
        """Adds `count`, `first` and `last` of its years."""
        return self.annotate(
            count=models.Count("years"),
            first=models.Min("years__year"),
            last=models.Max("years__year"),
        )


class PriceIndex(models.Model):
    """One index for one currency, such as a consumer price index."""

    currency = models.CharField(
        max_length=3,
        unique=True,
        validators=[RegexValidator(r"^[A-Z]{3}$", "Type three capital letters, such as GBP.")],
    )
    name = models.CharField(max_length=120, help_text="Such as 'consumer prices, all items'.")
    source = models.CharField(max_length=300, help_text="Who publishes it, and where.")
    history = HistoricalRecords()

    objects = PriceIndexQuerySet.as_manager()

    class Meta:
        ordering = ["currency"]
        verbose_name_plural = "price indexes"
        constraints = [
            models.CheckConstraint(
                condition=Q(currency__regex=r"^[A-Z]{3}$"), name="price_index_currency_code"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.currency}"

    def get_absolute_url(self) -> str:
        return reverse("price-index-detail", args=[self.pk])


class PriceIndexYear(models.Model):
    """The index of one year."""

    index = models.ForeignKey(PriceIndex, on_delete=models.CASCADE, related_name="years")
    year = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1800), MaxValueValidator(2200)]
    )
    value = models.DecimalField(max_digits=12, decimal_places=4)
    history = HistoricalRecords()

    class Meta:
        ordering = ["index", "year"]
        constraints = [
            models.UniqueConstraint(fields=["index", "year"], name="price_index_year_once"),
            above_zero("value", "price_index_value_positive", "An index is above zero."),
            within("year", 1800, 2200, "price_index_year_range"),
        ]

    def __str__(self) -> str:
        return f"{self.year}: {self.value}"

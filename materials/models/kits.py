"""The packs that a product is sold in."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from config.constraints import above_zero, not_negative

from .products import Product
from .sheets import ABOVE_ZERO, POSITIVE, figure


class Kit(models.Model):
    """A pack of a product: how much A and B it holds, and its list price."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="kits")
    name = models.CharField(max_length=120, help_text="Such as '1 kg kit'.")
    mass_a_g = figure(
        10, 2, "Part A, or all of a one-part product, by weight.", validators=POSITIVE
    )
    mass_b_g = figure(10, 2, "Part B by weight.", validators=POSITIVE)
    volume_a_ml = figure(
        10, 2, "Part A, or all of a one-part product, by volume.", validators=POSITIVE
    )
    volume_b_ml = figure(10, 2, "Part B by volume.", validators=POSITIVE)
    price_minor = models.BigIntegerField(
        null=True, blank=True, help_text="List price in the currency's smallest unit."
    )
    currency = models.CharField(max_length=3, default="GBP")
    history = HistoricalRecords()

    class Meta:
        ordering = ["product", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["product", "name"],
                name="kit_once_per_product",
                violation_error_message="A kit of that name is already kept for this product.",
            ),
            models.CheckConstraint(
                condition=Q(mass_a_g__isnull=False) | Q(volume_a_ml__isnull=False),
                name="kit_holds_something",
                violation_error_message="Say how much the kit holds, by weight or by volume.",
            ),
            not_negative("price_minor", "kit_price_not_negative", "A price cannot be negative."),
            models.CheckConstraint(
                condition=Q(currency__regex=r"^[A-Z]{3}$"), name="kit_currency_code"
            ),
            *(
                above_zero(name, f"kit_{name}_positive", ABOVE_ZERO)
                for name in ("mass_a_g", "mass_b_g", "volume_a_ml", "volume_b_ml")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.product}, {self.name}"

    def get_absolute_url(self) -> str:
        return self.product.get_absolute_url()

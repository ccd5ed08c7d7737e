"""The figures of one issue of a data sheet."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from config.constraints import above_zero, within
from materials.mixing import MixRatio, to_weight

from .products import Product

ABOVE_ZERO = "Type a figure above zero, or leave it empty if the sheet is silent."
TO_A_HUNDRED = "Type a percentage from 0 to 100."
POSITIVE = [MinValueValidator(Decimal("0.0001"), ABOVE_ZERO)]
PERCENT = [MinValueValidator(0, TO_A_HUNDRED), MaxValueValidator(100, TO_A_HUNDRED)]


def figure(digits: int, places: int, help_text: str, **kwargs: Any) -> models.DecimalField:
    return models.DecimalField(
        max_digits=digits,
        decimal_places=places,
        null=True,
        blank=True,
        help_text=help_text,
        **kwargs,
    )


def _from_to(low: str, high: str, name: str, message: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(**{f"{low}__isnull": True})
        | Q(**{f"{high}__isnull": True})
        | Q(**{f"{high}__gte": F(low)}),
        name=name,
        violation_error_message=message,
    )


class SheetRevision(models.Model):
    """The figures of one issue of a product's data sheet. A batch points at the revision of its
    day, so a later sheet never changes what an old record says. An empty figure means that the
    sheet is silent; `not_applicable` names the figures that have no meaning for the product."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="sheets")
    revision = models.CharField(max_length=60, help_text="As printed, such as 'Issue 4'.")
    issued_on = models.DateField()
    not_applicable = models.JSONField(default=list, blank=True)

    weight_a = figure(9, 3, "Parts of A by weight, such as 100.", validators=POSITIVE)
    weight_b = figure(9, 3, "Parts of B by weight, such as 33.", validators=POSITIVE)
    volume_a = figure(9, 3, "Parts of A by volume, such as 2.", validators=POSITIVE)
    volume_b = figure(9, 3, "Parts of B by volume, such as 1.", validators=POSITIVE)
    density_a_g_ml = figure(6, 4, "Density of A, or of a one-part product.", validators=POSITIVE)
    density_b_g_ml = figure(6, 4, "Density of B.", validators=POSITIVE)
    density_mixed_g_ml = figure(
        6, 4, "Density once mixed, such as that of a light filler.", validators=POSITIVE
    )
    ratio_tolerance_pct = figure(
        5, 2, "How far the ratio may be off, in percent of B to A.", validators=PERCENT
    )
    pot_life = models.DurationField(null=True, blank=True, help_text="In the pot.")
    pot_life_mass_g = figure(9, 1, "Mass mixed for that pot life.", validators=POSITIVE)
    pot_life_at_c = figure(5, 1, "Temperature of that pot life.")
    pot_life_large = models.DurationField(
        null=True, blank=True, help_text="In the pot, for a larger mass."
    )
    pot_life_large_mass_g = figure(9, 1, "That larger mass.", validators=POSITIVE)
    batch_mass_max_g = figure(9, 1, "Largest mass to mix at once.", validators=POSITIVE)
    working_time_thick = models.DurationField(
        null=True, blank=True, help_text="In a thick piece, the shorter time."
    )
    working_time_thin = models.DurationField(
        null=True, blank=True, help_text="In a thin piece, the longer time."
    )
    working_time_at_c = figure(5, 1, "Temperature of that working time.")
    cure_time = models.DurationField(null=True, blank=True, help_text="From mixed to full cure.")
    cure_at_c = figure(5, 1, "Temperature of that cure time.")
    activation_energy_kj_mol = figure(
        5,
        1,
        "Of the cure, if the maker tells it; a typical one is taken if not.",
        validators=POSITIVE,
    )
    heat_of_reaction_j_g = figure(6, 1, "Heat set free per gram mixed.", validators=POSITIVE)
    recoat_from = models.DurationField(null=True, blank=True, help_text="Earliest next coat.")
    recoat_to = models.DurationField(
        null=True, blank=True, help_text="Latest next coat without washing and abrading."
    )
    layer_min_mm = figure(7, 2, "Least layer.", validators=POSITIVE)
    layer_max_mm = figure(7, 2, "Greatest layer at once.", validators=POSITIVE)
    apply_min_c = figure(5, 1, "Lowest temperature to use it at.")
    apply_max_c = figure(5, 1, "Highest temperature to use it at.")
    wood_moisture_max_pct = figure(
        4, 1, "Wettest wood it may go on, % of oven-dry mass.", validators=PERCENT
    )
    heat_deflection_c = figure(5, 1, "Heat deflection temperature.")
    heat_deflection_method = models.CharField(
        max_length=120, blank=True, help_text="Standard and stress, such as 'ISO 75, 1.80 MPa'."
    )
    shelf_life_unopened_months = models.PositiveSmallIntegerField(null=True, blank=True)
    shelf_life_opened_months = models.PositiveSmallIntegerField(null=True, blank=True)
    coverage_m2_per_l = figure(7, 2, "Area that one litre covers.", validators=POSITIVE)
    coverage_end_grain_m2_per_l = figure(
        7, 2, "The same on end grain, which drinks more.", validators=POSITIVE
    )
    hazards = models.TextField(blank=True, max_length=5000, help_text="In the sheet's own sense.")
    safety_sheet_url = models.URLField(blank=True, help_text="The maker's safety data sheet.")
    source_note = models.CharField(
        max_length=300, blank=True, help_text="Where these figures were read."
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["product", "-issued_on", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["product", "revision"],
                name="sheet_revision_once",
                violation_error_message="This revision of the sheet is already kept.",
            ),
            # A check lets pass what it cannot tell, so that "not null" is said beside "above zero".
            models.CheckConstraint(
                condition=Q(weight_a__isnull=True, weight_b__isnull=True)
                | Q(weight_a__isnull=False, weight_b__isnull=False, weight_a__gt=0, weight_b__gt=0),
                name="sheet_weight_ratio_both",
                violation_error_message="A ratio by weight needs both parts, such as 100 : 33.",
            ),
            models.CheckConstraint(
                condition=Q(volume_a__isnull=True, volume_b__isnull=True)
                | Q(volume_a__isnull=False, volume_b__isnull=False, volume_a__gt=0, volume_b__gt=0),
                name="sheet_volume_ratio_both",
                violation_error_message="A ratio by volume needs both parts, such as 2 : 1.",
            ),
            within("ratio_tolerance_pct", 0, 100, "sheet_tolerance_percent"),
            within("wood_moisture_max_pct", 0, 100, "sheet_moisture_percent"),
            _from_to(
                "layer_min_mm",
                "layer_max_mm",
                "sheet_layer_order",
                "The greatest layer is thinner than the least layer.",
            ),
            _from_to(
                "apply_min_c",
                "apply_max_c",
                "sheet_temperature_order",
                "The highest temperature is below the lowest.",
            ),
            _from_to(
                "pot_life_large",
                "pot_life",
                "sheet_pot_life_order",
                "A larger mass is workable for no longer than a small one.",
            ),
            _from_to(
                "pot_life_mass_g",
                "pot_life_large_mass_g",
                "sheet_pot_life_mass_order",
                "The larger mass is smaller than the mass of the first pot life.",
            ),
            _from_to(
                "recoat_from",
                "recoat_to",
                "sheet_recoat_order",
                "The recoat window ends before it begins.",
            ),
            _from_to(
                "working_time_thick",
                "working_time_thin",
                "sheet_working_time_order",
                "A thin piece is workable for at least as long as a thick one.",
            ),
            *(
                above_zero(name, f"sheet_{name}_positive", ABOVE_ZERO)
                for name in (
                    "density_a_g_ml",
                    "density_b_g_ml",
                    "density_mixed_g_ml",
                    "pot_life_mass_g",
                    "pot_life_large_mass_g",
                    "activation_energy_kj_mol",
                    "heat_of_reaction_j_g",
                    "batch_mass_max_g",
                    "layer_min_mm",
                    "layer_max_mm",
                    "coverage_m2_per_l",
                    "coverage_end_grain_m2_per_l",
                )
            ),
            *(
                models.CheckConstraint(
                    condition=Q(**{f"{name}__isnull": True}) | Q(**{f"{name}__gte": timedelta(0)}),
                    name=f"sheet_{name}_not_negative",
                    violation_error_message="A time cannot be negative.",
                )
                for name in (
                    "pot_life",
                    "pot_life_large",
                    "working_time_thick",
                    "working_time_thin",
                    "cure_time",
                    "recoat_from",
                    "recoat_to",
                )
            ),
        ]

    def __str__(self) -> str:
        return f"{self.product}, {self.revision}"

    def get_absolute_url(self) -> str:
        return self.product.get_absolute_url()

    def clean(self) -> None:
        known = {field.name for field in self._meta.get_fields()}
        unknown = [name for name in self.not_applicable if name not in known]
        if unknown:
            raise ValidationError({"not_applicable": f"No such figure: {', '.join(unknown)}."})

    def weight_ratio(self) -> MixRatio | None:
        """A : B by weight, as printed or worked out from the volume ratio and the densities."""
        if self.weight_a and self.weight_b:
            return MixRatio(self.weight_a, self.weight_b, "weight")
        volume = self.volume_ratio()
        if volume and self.density_a_g_ml and self.density_b_g_ml:
            return to_weight(volume, self.density_a_g_ml, self.density_b_g_ml)
        return None

    def volume_ratio(self) -> MixRatio | None:
        """A : B by volume, as printed."""
        if self.volume_a and self.volume_b:
            return MixRatio(self.volume_a, self.volume_b, "volume")
        return None

"""Members: the pieces of timber that are looked after."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from config.constraints import above_zero, within
from properties.classes import USE_CLASS_CHOICES

from .buildings import Building, Elevation
from .looked_after import of_looked_after_members
from .owners import Property, on_one_of

LONGEST_SEARCH = 200


class YesNoUnknown(models.TextChoices):
    YES = "yes", "Yes"
    NO = "no", "No"
    UNKNOWN = "unknown", "Not known"


class Zone(models.TextChoices):
    """Where on a member, as seen from outside facing the wall."""

    LEFT = "left", "Left end"
    MID = "mid", "Middle"
    RIGHT = "right", "Right end"
    UPPER = "upper", "Upper end"
    LOWER = "lower", "Lower end"
    WHOLE = "whole", "Whole member"


class MemberQuerySet(models.QuerySet["Member"]):
    def standing(self) -> MemberQuerySet:
        """Members still in place, on buildings still standing."""
        return self.filter(removed_on__isnull=True, building__demolished_on__isnull=True)

    def in_place(self) -> MemberQuerySet:
        """Members that nobody has taken out; the twin of `Member.is_in_place`."""
        return self.filter(removed_on__isnull=True)

    def looked_after(self, on: date) -> MemberQuerySet:
        """The twin of `Member.is_looked_after`."""
        return self.filter(of_looked_after_members(on))

    def within(self, properties: models.QuerySet[Property]) -> MemberQuerySet:
        return self.filter(on_one_of(properties, "building__property"))

    def with_place(self) -> MemberQuerySet:
        return self.select_related("building__property", "elevation")

    def matching(self, text: str) -> MemberQuerySet:
        """Members whose mark, kind, building or property holds every word of the text."""
        found = self
        for word in text[:LONGEST_SEARCH].split()[:8]:
            kinds = [value for value, label in Member.Kind.choices if word.lower() in label.lower()]
            found = found.filter(
                Q(mark__icontains=word)
                | Q(kind__in=kinds)
                | Q(building__name__icontains=word)
                | Q(building__property__name__icontains=word)
                | Q(position__icontains=word)
            )
        return found


class Member(models.Model):
    """One piece of timber. A replaced member is closed and a new one points back at it."""

    class Kind(models.TextChoices):
        SILL = "sill", "Sill"
        POST = "post", "Post"
        POST_BASE = "post_base", "Post base"
        BEAM = "beam", "Beam"
        BEAM_END = "beam_end", "Beam end"
        LINTEL = "lintel", "Lintel"
        JAMB = "jamb", "Jamb"
        FASCIA = "fascia", "Fascia"
        BARGEBOARD = "bargeboard", "Bargeboard"
        RAFTER_TAIL = "rafter_tail", "Rafter tail"
        SOFFIT = "soffit", "Soffit"
        HANDRAIL = "handrail", "Handrail"
        CLADDING = "cladding", "Cladding board"
        CORNER_BOARD = "corner_board", "Corner board"
        DOOR = "door", "Door"
        DOOR_FRAME = "door_frame", "Door frame"
        SASH = "sash", "Sash"
        WINDOW_FRAME = "window_frame", "Window frame"
        THRESHOLD = "threshold", "Threshold"
        BRACKET = "bracket", "Bracket"
        OTHER = "other", "Other"

    class Exposure(models.TextChoices):
        SHELTERED = "sheltered", "Sheltered"
        PARTLY = "partly", "Partly exposed"
        SEVERE = "severe", "Severe (south or west, coast, or lying flat)"
        UNKNOWN = "unknown", "Not known"

    class Finish(models.TextChoices):
        PAINT = "paint", "Paint"
        SOLID_STAIN = "solid_stain", "Solid-colour stain"
        SEMITRANSPARENT_STAIN = "semitransparent_stain", "Semitransparent stain"
        TINTED_CLEAR = "tinted_clear", "Tinted clear finish"
        WATER_REPELLENT = "water_repellent", "Water-repellent preservative"
        NONE = "none", "No finish"
        OTHER = "other", "Other"
        UNKNOWN = "unknown", "Not known"

    class Tone(models.TextChoices):
        WHITE = "white", "White or near white"
        LIGHT = "light", "Light"
        MEDIUM = "medium", "Middle"
        DARK = "dark", "Dark"
        UNKNOWN = "unknown", "Not known"

    building = models.ForeignKey(Building, on_delete=models.PROTECT, related_name="members")
    elevation = models.ForeignKey(
        Elevation, null=True, blank=True, on_delete=models.PROTECT, related_name="members"
    )
    mark = models.CharField(
        max_length=40, help_text="As painted, tagged or read on site: N-SILL-03."
    )
    kind = models.CharField(max_length=14, choices=Kind)
    position = models.CharField(
        max_length=200,
        blank=True,
        help_text="Storey, bay, order, as seen facing the wall from outside.",
    )
    species = models.CharField(max_length=80, blank=True, help_text="Empty if not known.")
    width_mm = models.DecimalField(
        "width",
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01"))],
    )
    depth_mm = models.DecimalField(
        "depth",
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01"))],
    )
    length_mm = models.DecimalField(
        "length",
        max_digits=9,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01"))],
    )
    exposure = models.CharField(max_length=9, choices=Exposure, default=Exposure.UNKNOWN)
    ground_contact = models.CharField(
        max_length=7, choices=YesNoUnknown, default=YesNoUnknown.UNKNOWN
    )
    load_bearing = models.CharField(
        max_length=7,
        choices=YesNoUnknown,
        default=YesNoUnknown.UNKNOWN,
        help_text="If it carries load, or nobody knows, a licensed engineer decides.",
    )
    finish = models.CharField(max_length=21, choices=Finish, default=Finish.UNKNOWN)
    finish_colour = models.CharField("colour", max_length=80, blank=True)
    finish_tone = models.CharField("tone", max_length=7, choices=Tone, default=Tone.UNKNOWN)
    oldest_paint_year = models.PositiveSmallIntegerField(
        "year of the oldest paint on it",
        null=True,
        blank=True,
        validators=[MinValueValidator(1000), MaxValueValidator(2200)],
        help_text="Empty if not known; then the building's year counts.",
    )
    expected_surface_c = models.DecimalField(
        "expected surface temperature",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        help_text="Stated by you for a hot day; empty for the usual figure of its colour and face.",
    )
    tilt_deg = models.DecimalField(
        "tilt of its face",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(180)],
        help_text="0 lies flat and looks up, 90 stands upright. Empty for the usual of its kind.",
    )
    use_class = models.CharField(
        max_length=3, blank=True, choices=USE_CLASS_CHOICES, help_text="EN 335."
    )
    installed_year = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1000), MaxValueValidator(2200)]
    )
    supersedes = models.OneToOneField(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="superseded_by",
        help_text="The member that this one replaced.",
    )
    removed_on = models.DateField(null=True, blank=True)
    removed_reason = models.CharField(max_length=300, blank=True)
    not_applicable = models.JSONField(default=list, blank=True)
    notes = models.TextField(blank=True, max_length=5000)
    history = HistoricalRecords()

    objects = MemberQuerySet.as_manager()

    class Meta:
        ordering = ["building", "mark"]
        constraints = [
            models.UniqueConstraint(
                fields=["building", "mark"],
                condition=Q(removed_on__isnull=True),
                name="member_mark_once_in_place",
                violation_error_message="This building already has a member with that mark.",
            ),
            models.CheckConstraint(
                condition=Q(removed_on__isnull=True) | ~Q(removed_reason=""),
                name="member_removed_with_reason",
                violation_error_message="Say why it was removed.",
            ),
            models.CheckConstraint(
                condition=Q(supersedes__isnull=True) | ~Q(supersedes=F("id")),
                name="member_not_its_own_successor",
            ),
            within("tilt_deg", 0, 180, "member_tilt_range", "A tilt runs from 0 to 180 degrees."),
            *(
                above_zero(
                    name,
                    f"member_{name}_positive",
                    "A size is above zero; leave it empty if not known.",
                )
                for name in ("width_mm", "depth_mm", "length_mm")
            ),
        ]

    def __str__(self) -> str:
        return self.mark

    def get_absolute_url(self) -> str:
        return reverse("member-detail", args=[self.pk])

    def clean(self) -> None:
        if self.elevation and self.building_id and self.elevation.building_id != self.building_id:
            raise ValidationError({"elevation": "That elevation belongs to another building."})

    def is_in_place(self) -> bool:
        return self.removed_on is None

    def is_looked_after(self, on: date) -> bool:
        """In place, on a building still standing, at a property not given up; the twin of
        `MemberQuerySet.looked_after`."""
        ends = (self.removed_on, self.building.demolished_on, self.building.property.given_up_on)
        return all(end is None or end > on for end in ends)

    def presumed_paint_year(self) -> int | None:
        """The year that the lead rule goes by: the oldest paint known, else the building's year."""
        return self.oldest_paint_year or self.building.year_built

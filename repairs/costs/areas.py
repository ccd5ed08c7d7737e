"""What a square metre of elevation has cost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Count, Exists, OuterRef, Sum
from django.db.models.functions import Coalesce

from config.figures import Formula
from materials.money import round_minor
from properties.models import Elevation
from properties.models.buildings import BuildingQuerySet
from repairs.costs.shares import Only, Share, condition
from repairs.models.costs import CostLineQuerySet

CENT = Decimal("0.01")
OF_ELEVATION = Formula(
    words="The lines on the elevation or on a member of it, divided by its area.",
    symbols="cost ÷ area",
    source="arithmetic, with the area as recorded",
)
OF_BUILDINGS = Formula(
    words="All lines of the buildings, those of no elevation too, divided by the area of all "
    "their elevations.",
    symbols="cost ÷ Σ area",
    source="arithmetic, with the areas as recorded",
    holds="for buildings with an area for each elevation",
)
MEASURED: Only = (("areas", "known"),)


@dataclass(frozen=True)
class ElevationCost:
    """`area_m2` is None where it is not recorded, and for what is on no elevation."""

    share: Share
    area_m2: Decimal | None

    @property
    def a_metre_minor(self) -> int | None:
        return a_metre(self.share.minor, self.area_m2)


@dataclass(frozen=True)
class MeasuredBuildings:
    """The buildings with an area for each elevation, of all those with costs or elevations."""

    count: int
    of: int
    minor: int
    area_m2: Decimal

    @property
    def a_metre_minor(self) -> int | None:
        return a_metre(self.minor, self.area_m2) if self.count else None


def a_metre(minor: int | None, area_m2: Decimal | None) -> int | None:
    """Minor units for each square metre, to the nearest; None where either is not known. An area
    is above nought, as the records have it."""
    if minor is None or area_m2 is None:
        return None
    return round_minor(Fraction(minor) / Fraction(area_m2))


def on_elevations(lines: CostLineQuerySet) -> Any:
    """Adds `stands_on`: the elevation that a line is tied to, else that of its member."""
    return lines.annotate(stands_on=Coalesce("elevation_id", "member__elevation_id"))


def elevation_costs(
    lines: CostLineQuerySet, elevations: Iterable[Elevation], with_building: bool
) -> tuple[ElevationCost, ...]:
    """Every elevation, the dearest first, and what is on none; these add up to the total."""
    found = on_elevations(lines.order_by()).values_list("stands_on")
    sums = dict(found.annotate(total=Sum("home_minor")).values_list("stands_on", "total"))
    costs = [
        ElevationCost(
            Share(
                f"{each.name}, {each.building.name}" if with_building else each.name,
                sums.get(each.pk, 0),
                each.get_absolute_url(),
                condition("elevation", each.pk),
            ),
            each.area_m2,
        )
        for each in elevations
    ]
    costs.sort(key=lambda cost: -cost.share.minor)
    if None in sums:
        share = Share("On no elevation", sums[None], only=condition("elevation", None))
        costs.append(ElevationCost(share, None))
    return tuple(costs)


def measured(buildings: BuildingQuerySet) -> BuildingQuerySet:
    """Buildings with elevations, each of which has an area."""
    own = Elevation.objects.filter(building=OuterRef("pk")).order_by()
    return buildings.filter(Exists(own)).exclude(Exists(own.filter(area_m2__isnull=True)))


@dataclass(frozen=True)
class BuildingArea:
    """A building's elevations, how many of them have an area, and the sum of these."""

    building: int
    elevations: int
    known: int
    area_m2: Decimal


def measured_buildings(
    areas: Iterable[BuildingArea], totals: Mapping[int, int]
) -> MeasuredBuildings:
    """`areas` are of buildings with elevations; `totals` the costs of those that have any."""
    found = list(areas)
    whole = [each for each in found if each.elevations == each.known]
    return MeasuredBuildings(
        count=len(whole),
        of=len({each.building for each in found} | set(totals)),
        minor=sum(totals.get(each.building, 0) for each in whole),
        area_m2=sum((each.area_m2 for each in whole), Decimal(0)).quantize(CENT),
    )


def areas_in(buildings: BuildingQuerySet) -> Iterable[BuildingArea]:
    """Added up by the database, for buildings by the thousand."""
    groups = (
        Elevation.objects.filter(building__in=buildings)
        .order_by()
        .values_list("building")
        .annotate(all=Count("pk"), known=Count("area_m2"), area=Sum("area_m2"))
    )
    return [BuildingArea(pk, all_, known, area or Decimal(0)) for pk, all_, known, area in groups]


def areas_of(elevations: Iterable[Elevation]) -> Iterable[BuildingArea]:
    """As `areas_in`, of elevations that were read already."""
    grouped: defaultdict[int, list[Decimal | None]] = defaultdict(list)
    for each in elevations:
        grouped[each.building_id].append(each.area_m2)
    for pk, areas in grouped.items():
        known = [area for area in areas if area is not None]
        yield BuildingArea(pk, len(areas), len(known), sum(known, Decimal(0)))


def of_buildings(buildings: BuildingQuerySet) -> Any:
    return (
        Elevation.objects.filter(building__in=buildings)
        .select_related("building")
        .order_by("building__name", "name")
    )

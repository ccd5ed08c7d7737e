"""What stands where, who owns it, what is damaged, and who may see it."""

from .buildings import Building, Elevation
from .defects import Defect, MoistureReading
from .members import Member
from .owners import Owner, Ownership, Property
from .people import Person
from .weather import MonthlyNormal, WeatherFile

__all__ = [
    "Building",
    "Defect",
    "Elevation",
    "Member",
    "MoistureReading",
    "MonthlyNormal",
    "Owner",
    "Ownership",
    "Person",
    "Property",
    "WeatherFile",
]

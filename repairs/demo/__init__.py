"""An invented example, to look around in before any record of one's own is entered.

Every name, place, product, maker, lot and price in it is made up."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import Group, User

from properties.models import Person, Property
from repairs.demo.coats import paint_members
from repairs.demo.places import build_places
from repairs.demo.plans import plan_ahead
from repairs.demo.stores import fill_stores
from repairs.demo.weather import enter_normals, enter_price_index
from repairs.demo.work import do_work
from repairs.demo.years import look_ahead
from repairs.roles import CREW, MANAGERS, VIEWERS

USERNAME = "manager"
PASSWORD = "makegood-demo"
PEOPLE = (
    (USERNAME, "Ash", "Rowan", MANAGERS),
    ("crew", "Robin", "Larch", CREW),
    ("viewer", "Hazel", "Wren", VIEWERS),
)


def load_demo(at: datetime) -> None:
    """Enter the example into an empty database; its days count back from `at`."""
    people = {name: _person(name, first, last, role) for name, first, last, role in PEOPLE}
    places = build_places(at)
    people["viewer"].person.properties.set(Property.objects.filter(pk=places.boathouse.pk))
    stores = fill_stores(at, people[USERNAME])
    paint_members(at, places, stores, people["crew"])
    do_work(at, places, stores, people[USERNAME], people["crew"])
    enter_normals(places.granary)
    enter_price_index(at.date())
    plan_ahead(at, people["crew"])
    look_ahead(at, places, people[USERNAME], people["crew"])


def _person(username: str, first: str, last: str, role: str) -> User:
    user = User.objects.create_user(
        username, f"{username}@example.invalid", PASSWORD, first_name=first, last_name=last
    )
    user.groups.add(Group.objects.get(name=role))
    Person.objects.create(user=user)
    return user

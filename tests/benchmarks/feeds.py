"""The calendar of a person with 2,000 entries, beside the icalendar package alone."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from repairs.calendars.feed import entries_of
from repairs.calendars.icalendar_file import calendar_file
from repairs.models import CalendarFeed, DueDate
from tests.benchmarks.stopwatch import Ratio, compare

ENTRIES = 2000


def feed_ratio() -> Ratio:
    """Asked for as a stranger asks, against the same entries ready to be written."""
    feed = _feed()
    address = feed.get_absolute_url()
    ready, _ = entries_of(feed, timezone.localdate(), str)
    assert len(ready) == ENTRIES
    client = Client()
    client.get(address)
    with CaptureQueriesContext(connection) as captured:
        client.get(address)
    zone = timezone.get_default_timezone()
    return compare(
        f"calendar of {ENTRIES:,} entries in {len(captured)} queries, against icalendar given them",
        lambda: client.get(address),
        lambda: calendar_file("Makegood", "", ready, zone),
    )


def _feed() -> CalendarFeed:
    user = User.objects.get()
    own = DueDate.objects.reminding(timezone.localdate()).values("pk")[:ENTRIES]
    DueDate.objects.filter(pk__in=list(own.values_list("pk", flat=True))).update(person=user)
    feed, _ = CalendarFeed.objects.get_or_create(user=user, shows=CalendarFeed.Shows.OWN)
    return feed

"""The calendar addresses that a person keeps, as their page shows them."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib.auth.models import User
from django.http import HttpRequest

from properties.access import properties_for
from repairs.models import CalendarFeed
from repairs.whole_address import whole_address


@dataclass(frozen=True)
class FeedAddress:
    """`url` is the secret; `webcal` is the same for programs that open calendars by themselves.
    An address whose property the person no longer sees answers nothing any more."""

    feed: CalendarFeed
    url: str
    webcal: str
    answers: bool


def addresses_of(user: User, request: HttpRequest) -> list[FeedAddress]:
    feeds = list(CalendarFeed.objects.filter(user=user).select_related("property"))
    of = [feed.property_id for feed in feeds if feed.property_id is not None]
    seen = set(properties_for(user).filter(pk__in=of).values_list("pk", flat=True))
    return [_address(feed, request, seen) for feed in feeds]


def _address(feed: CalendarFeed, request: HttpRequest, seen: set[int]) -> FeedAddress:
    url = whole_address(feed.get_absolute_url(), request)
    webcal = f"webcal{url[url.index(':') :]}"
    return FeedAddress(feed, url, webcal, feed.property_id is None or feed.property_id in seen)

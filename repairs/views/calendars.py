"""Calendar addresses: the page where a person keeps theirs, and the file behind each; and which
mails they get."""

from __future__ import annotations

from hashlib import sha256

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required, permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from properties.models import Person
from properties.signed_in import signed_in
from repairs.calendars.addresses import addresses_of
from repairs.calendars.feed import feed_file, find_feed
from repairs.forms.calendars import FeedForm, MailForm
from repairs.mails.choices import choices_of, usual_for
from repairs.models import CalendarFeed
from repairs.roles import role_of
from repairs.whole_address import whole_address

may_read_dates = permission_required("repairs.view_duedate", raise_exception=True)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@may_read_dates
def calendar_feeds(request: HttpRequest) -> HttpResponse:
    """Never kept by a browser, since it shows secrets."""
    user = signed_in(request)
    form = FeedForm(request.POST or None, user=user, of=request.GET.get("property"))
    if form.is_valid():
        made = form.save()
        messages.success(request, "Made: see below." if made else "Saved; the address stays.")
        return redirect("calendar-feeds")
    context = {"form": form, "addresses": addresses_of(user, request)}
    return render(request, "repairs/calendar_feeds.html", context)


def _own_feed(request: HttpRequest, key: str) -> CalendarFeed:
    return get_object_or_404(CalendarFeed, key=key, user=signed_in(request))


@may_read_dates
@require_POST
def calendar_renew(request: HttpRequest, key: str) -> HttpResponse:
    feed = _own_feed(request, key)
    feed.renew(timezone.now())
    messages.success(
        request, f"{feed}: the old address is dead. Give the new one to your calendar program."
    )
    return redirect("calendar-feeds")


@may_read_dates
@require_POST
def calendar_remove(request: HttpRequest, key: str) -> HttpResponse:
    feed = _own_feed(request, key)
    feed.delete()
    messages.success(request, f"{feed}: the address is removed and answers nothing any more.")
    return redirect("calendar-feeds")


@login_not_required
@require_safe
def calendar_file(request: HttpRequest, token: str) -> HttpResponse:
    """Answers whoever has the address, without a log-in and without a cookie. A copy may be kept
    only by the program that asked, and only if it asks again each time whether it is still right.
    No date of change is told: what a person may see shrinks without leaving one."""
    feed = find_feed(token)
    on = timezone.localdate()
    body = feed_file(feed, on, lambda path: whole_address(path, request))
    etag = quote_etag(sha256(body).hexdigest())
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response["ETag"] = etag
    response["Cache-Control"] = "private, no-cache"
    response["Content-Disposition"] = 'inline; filename="makegood.ics"'
    response["X-Robots-Tag"] = "noindex"
    answer = get_conditional_response(request, etag=etag, response=response)
    return answer or response


@require_http_methods(["GET", "HEAD", "POST"])
@may_read_dates
def mail_choices(request: HttpRequest) -> HttpResponse:
    user = signed_in(request)
    person = Person.objects.filter(user=user).first() or Person(user=user)
    usual = usual_for(role_of(user))
    form = MailForm(request.POST or None, instance=person, usual=usual)
    if form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("mail-choices")
    context = {"form": form, "address": user.email, "choices": choices_of(user)}
    return render(request, "repairs/mail_choices.html", context)

"""What one job costs at a property, where its own past does not tell."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from properties.access import find_property
from properties.models import Property
from properties.views.form_page import today
from repairs.access import cost_lines_for
from repairs.ahead.past import past_words
from repairs.ahead.words import RATE_ASKED_FOR
from repairs.forms.work_rates import RatesForm
from repairs.views.sent_whole import sent_whole


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.view_workrate", raise_exception=True)
@sent_whole
def work_rates(request: HttpRequest, pk: int) -> HttpResponse:
    of = find_property(request.user, pk)
    if request.method == "POST":
        if not request.user.has_perm("repairs.change_workrate"):
            raise PermissionDenied
        Property.objects.select_for_update().get(pk=pk)  # one after the other
        return _sent(request, RatesForm(of, request.POST))
    return _show(request, RatesForm(of))


def _sent(request: HttpRequest, form: RatesForm) -> HttpResponse:
    if not form.is_valid():
        return _show(request, form)
    changed = form.save()
    told = f"Saved: {changed} rate{'' if changed == 1 else 's'} changed."
    messages.success(request, told if changed else "Nothing changed.")
    return redirect("work-rates", form.property.pk)


def _show(request: HttpRequest, form: RatesForm) -> HttpResponse:
    of = form.property
    past = past_words(of, today(of), cost_lines_for(request.user))
    rows = [
        {"form": row, "asked_for": RATE_ASKED_FOR[row.what], "past": past.get(row.what, ())}
        for row in form.rows
    ]
    context = {"property": of, "form": form, "rows": rows, "kept": form.kept_count}
    return render(request, "repairs/work_rates.html", context)

"""All dates that a rule set, set anew by the rules as they stand: what would move, and the act."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from properties.access import properties_for
from properties.models import Member, Property
from properties.models.owners import PropertyQuerySet
from properties.signed_in import signed_in
from properties.views.form_page import today
from repairs.due.bulk import Changes, dates_anew
from repairs.due.bulk_summary import summary_of
from repairs.due.bulk_write import write


class PropertyForm(forms.Form):
    property = forms.ModelChoiceField(
        Property.objects.none(),
        required=False,
        empty_label="All properties",
        error_messages={"invalid_choice": "Choose a property of the list."},
    )

    def __init__(self, data: object, seen: PropertyQuerySet) -> None:
        super().__init__(data)  # type: ignore[arg-type]
        self.fields["property"].queryset = seen  # type: ignore[attr-defined]


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.change_duerule", raise_exception=True)
def rule_dates(request: HttpRequest) -> HttpResponse:
    """The property, if one is chosen, stands in the address, also of what is sent."""
    seen = properties_for(request.user)
    form = PropertyForm(request.GET, seen.looked_after(today()))
    if not form.is_valid():
        return render(request, "repairs/rule_dates.html", {"form": form})
    changes = _changes(seen, form.cleaned_data["property"])
    if request.method == "POST":
        messages.success(request, write(changes, signed_in(request)).in_words())
        return redirect(request.get_full_path())
    context = {"form": form, "summary": summary_of(changes)}
    return render(request, "repairs/rule_dates.html", context)


def _changes(seen: PropertyQuerySet, chosen: Property | None) -> Changes:
    places = seen.filter(pk=chosen.pk) if chosen else seen
    return dates_anew(Member.objects.within(places), today())

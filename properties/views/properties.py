"""Pages that list, enter and change properties."""

from __future__ import annotations

from copy import copy
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from properties.access import find_property, properties_for
from properties.change_owner import change_owner
from properties.exports import ListExport
from properties.filters import PropertyFilter
from properties.forms.owners import ChangeOwnerForm
from properties.forms.properties import FirstOwnerForm, GiveUpForm, PropertyForm
from properties.models import Property
from properties.property_figures import with_figures
from properties.tables import PropertyTable

from .form_page import FormPage, answer_form, lay_errors, sent, show_form, today


class PropertyList(PermissionRequiredMixin, ListExport, SingleTableMixin, FilterView):
    permission_required = "properties.view_property"
    table_class = PropertyTable
    filterset_class = PropertyFilter
    template_name = "properties/property_list.html"
    paginate_by = 50
    export_name = "properties"

    def get_queryset(self) -> QuerySet[Property]:
        return with_figures(properties_for(self.request.user), today())

    def get_table_kwargs(self) -> dict[str, Any]:
        shown = self.request.GET.get("show")
        return {} if shown in {"all", "given_up"} else {"exclude": ("given_up_on",)}

    def get_filterset_kwargs(self, filterset_class: Any) -> dict[str, Any]:
        # Also without a query, so that what was given up is left out from the start.
        kwargs = super().get_filterset_kwargs(filterset_class)
        return {**kwargs, "data": self.request.GET, "on": today()}


@permission_required("properties.add_property", raise_exception=True)
def property_new(request: HttpRequest) -> HttpResponse:
    form = PropertyForm(sent(request), on=today())
    owner_form = FirstOwnerForm(sent(request), prefix="first")
    page = FormPage(
        title="A new property",
        lead="A site with an address. Its buildings and their members are entered next.",
        save="Save this property",
        template="properties/property_form.html",
        also={"owner_form": owner_form},
    )
    if request.method != "POST" or not (form.is_valid() & owner_form.is_valid()):
        return show_form(request, form, page)
    with transaction.atomic():
        new = form.save()
        if owner_form.names_an_owner():
            change_owner(new, owner_form.chosen_owner(), owner_form.cleaned_data["from_on"])
    messages.success(request, f"{new} is saved. Enter its first building next.")
    return redirect(new)


@permission_required("properties.change_property", raise_exception=True)
def property_edit(request: HttpRequest, pk: int) -> HttpResponse:
    of = find_property(request.user, pk)
    page = FormPage(
        title=f"Change {of}",
        lead="The address, the units and the money that this property is kept in.",
        save="Save this property",
        template="properties/property_form.html",
        trail=(copy(of),),
    )
    form = PropertyForm(sent(request), instance=of, on=today(of))
    return answer_form(request, form, page, form.save)


@permission_required(
    ["properties.add_ownership", "properties.change_ownership"], raise_exception=True
)
def property_change_owner(request: HttpRequest, pk: int) -> HttpResponse:
    of = find_property(request.user, pk)
    form = ChangeOwnerForm(sent(request), latest=today(of), initial={"on": today(of)})
    current = of.owner_on(today(of))
    page = FormPage(
        title=f"Change the owner of {of}",
        lead=f"{current or 'Nobody'} holds {of} now. The history stays, and what was spent before "
        "the change stays with the earlier owner.",
        save="Hand it over",
        trail=(of,),
    )
    if request.method != "POST" or not form.is_valid():
        return show_form(request, form, page)
    try:
        begun = change_owner(
            of, form.chosen_owner(), form.cleaned_data["on"], form.cleaned_data["note"]
        )
    except ValidationError as refusal:
        lay_errors(form, refusal)
        return show_form(request, form, page)
    messages.success(request, f"{begun.owner} holds {of} from {begun.from_on:%-d %B %Y}.")
    return redirect(of)


@permission_required("properties.change_property", raise_exception=True)
def property_give_up(request: HttpRequest, pk: int) -> HttpResponse:
    of = find_property(request.user, pk)
    page = FormPage(
        title=f"Give up {of}",
        lead="From that day nothing more falls due here. All that happened stays in the records.",
        save="Save this day" if of.given_up_on else "Give it up",
        trail=(copy(of),),
    )
    form = GiveUpForm(
        sent(request),
        instance=of,
        on=today(of),
        initial={} if of.given_up_on else {"given_up_on": today(of)},
    )
    return answer_form(request, form, page, form.save)

"""Pages about owners."""

from __future__ import annotations

from copy import copy

from django.contrib.auth.decorators import permission_required
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from properties.access import find_owner, owners_for, properties_for
from properties.exports import ListExport
from properties.filters import OwnerFilter
from properties.forms.owners import OwnerForm
from properties.models import Owner
from properties.tables import OwnerTable

from .form_page import FormPage, answer_form, sent, today


class OwnerList(PermissionRequiredMixin, ListExport, SingleTableMixin, FilterView):
    permission_required = "properties.view_owner"
    table_class = OwnerTable
    filterset_class = OwnerFilter
    template_name = "properties/owner_list.html"
    paginate_by = 50
    export_name = "owners"

    def get_queryset(self) -> QuerySet[Owner]:
        user = self.request.user
        held = owners_for(user).with_properties_held(today(), properties_for(user))
        return held.order_by("name", "pk")


@permission_required("properties.view_owner", raise_exception=True)
def owner_detail(request: HttpRequest, pk: int) -> HttpResponse:
    owner = find_owner(request.user, pk)
    ownerships = owner.ownerships.filter(property__in=properties_for(request.user))
    context = {
        "owner": owner,
        "ownerships": ownerships.select_related("property").order_by("-from_on"),
        "on": today(),
    }
    return render(request, "properties/owner_detail.html", context)


@permission_required("properties.add_owner", raise_exception=True)
def owner_new(request: HttpRequest) -> HttpResponse:
    form = OwnerForm(sent(request), on=today())
    page = FormPage(
        title="A new owner",
        lead="Whose property it is: a person, or a body such as a trust. An owner has no log-in.",
        save="Save this owner",
    )
    return answer_form(request, form, page, form.save)


@permission_required("properties.change_owner", raise_exception=True)
def owner_edit(request: HttpRequest, pk: int) -> HttpResponse:
    owner = find_owner(request.user, pk)
    page = FormPage(
        title=f"Change {owner}",
        lead="What is changed here shows on every property of this owner, also in the past.",
        save="Save this owner",
        trail=(copy(owner),),
    )
    form = OwnerForm(sent(request), instance=owner, on=today())
    return answer_form(request, form, page, form.save)

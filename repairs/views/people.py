"""People who log in, what may be taken out of the records, and who changed what."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django_tables2 import RequestConfig

from properties.access import properties_for
from properties.models import Property
from properties.pages import ROWS_OF_A_TABLE
from properties.units import units_for
from repairs.change_log import ROOTS, log_of, property_of, records_of
from repairs.change_words import Reader
from repairs.forms.people import PersonForm
from repairs.tables.people import PersonTable, people

may_manage = permission_required("properties.change_person", raise_exception=True)


@may_manage
def person_list(request: HttpRequest) -> HttpResponse:
    table = PersonTable(people())
    RequestConfig(request, paginate=ROWS_OF_A_TABLE).configure(table)
    return render(request, "repairs/person_list.html", {"table": table})


@may_manage
def person_new(request: HttpRequest) -> HttpResponse:
    return _edit(request, User())


@may_manage
def person_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, get_object_or_404(User.objects.select_related("person"), pk=pk))


def _edit(request: HttpRequest, user: User) -> HttpResponse:
    form = PersonForm(request.POST or None, instance=user, editor=request.user)
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        messages.success(request, f"Saved: {saved.get_full_name() or saved.username}.")
        return redirect("person-list")
    return render(request, "repairs/person_edit.html", {"form": form, "person": user})


@permission_required("repairs.view_costline", raise_exception=True)
def record_list(request: HttpRequest) -> HttpResponse:
    context = {"properties": properties_for(request.user)}
    return render(request, "repairs/record_list.html", context)


def change_log(request: HttpRequest, model: str, pk: int) -> HttpResponse:
    root = ROOTS.get(model)
    if root is None:
        raise Http404
    permission = f"{root.model._meta.app_label}.view_{root.model._meta.model_name}"
    if not request.user.has_perm(permission):
        raise PermissionDenied
    found = records_of(root)
    if root.to_property is not None:
        found = found.filter(**{f"{root.to_property}__in": properties_for(request.user)})
    elif not request.user.has_perm("properties.view_every_property"):
        raise PermissionDenied
    record = get_object_or_404(found, pk=pk)
    reader = _reader(request, property_of(root, record))
    page = Paginator(log_of(root, pk, reader), 50).get_page(request.GET.get("page"))
    context = {"record": record, "page_obj": page, "reader": reader}
    return render(request, "repairs/change_log.html", context)


def _reader(request: HttpRequest, of: Property | None) -> Reader:
    units = units_for(request.user, of)
    if of is None:
        return Reader(timezone.get_default_timezone(), settings.TIME_ZONE, units)
    return Reader(of.zone, of.time_zone, units, of.currency)

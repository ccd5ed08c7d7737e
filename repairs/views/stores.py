"""The screen Stores: what is kept, and receiving more."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from materials.filters import LotFilter
from materials.forms.lots import ReceiveForm
from materials.models import Lot, Product
from materials.receive import Delivery, receive
from materials.stock import Occasion
from materials.store_summary import summary
from materials.tables import LotTable
from properties.exports import ListExport
from properties.signed_in import signed_in
from properties.units import units_for
from properties.views.form_page import FormPage, lay_errors, number_in, sent, show_form, today
from repairs.remarks import cautions_for

RESIN_CAUTIONS = cautions_for(
    resin=True, old_paint=False, load_bearing="no", at_height=False, dust=False
)


class StoreList(PermissionRequiredMixin, ListExport, SingleTableMixin, FilterView):
    permission_required = "materials.view_lot"
    table_class = LotTable
    filterset_class = LotFilter
    template_name = "materials/store_list.html"
    paginate_by = 50
    export_name = "stores"

    def get_queryset(self) -> QuerySet[Lot]:
        return Lot.objects.for_list()

    def get_filterset_kwargs(self, filterset_class: Any) -> dict[str, Any]:
        return {
            **super().get_filterset_kwargs(filterset_class),
            "data": self.request.GET,
            "on": today(),
        }

    def get_table_kwargs(self) -> dict[str, Any]:
        return {"on": today(), "units": units_for(self.request.user)}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**kwargs, summary=summary(today()))


@permission_required("materials.add_lot", raise_exception=True)
def lot_receive(request: HttpRequest) -> HttpResponse:
    """First which product, then what came of it: each product asks for its own numbers."""
    asked = number_in(request.GET.get("product", ""))
    if asked is None:
        return _choose_product(request)
    product = get_object_or_404(Product.objects.prefetch_related("kits"), pk=asked)
    form = ReceiveForm(
        sent(request), product=product, on=today(), units=units_for(request.user),
        initial={"received_on": today(), "currency": _usual_currency(), "packs": 1},
    )  # fmt: skip
    if request.method == "POST" and form.is_valid() and (lot := _received(request, form)):
        return redirect(lot)
    page = FormPage(
        title=f"Receive {product.name}",
        lead="What came, under which lot numbers, and what was paid for it. Packs under other "
        "numbers are received one after the other.",
        save="Put it in the stores",
        template="materials/lot_receive.html",
        trail=(product,),
        also={"product": product, "cautions": RESIN_CAUTIONS},
    )
    return show_form(request, form, page)


def _received(request: HttpRequest, form: ReceiveForm) -> Lot | None:
    """The lot; or None and the reason on the form, where somebody was faster with the number."""
    delivery = form.delivery()
    try:
        lot = receive(delivery, Occasion(timezone.now(), signed_in(request)))
    except ValidationError as refusal:
        lay_errors(form, refusal)
        return None
    messages.success(request, _said(delivery, lot))
    return lot


def _choose_product(request: HttpRequest) -> HttpResponse:
    products = Product.objects.still_bought(today()).order_by("name")
    return render(request, "materials/lot_receive_choose.html", {"products": products})


def _usual_currency() -> str:
    """The currency in which goods were last bought."""
    last = Lot.objects.order_by("-received_on", "-pk").values_list("currency", flat=True).first()
    return last or "GBP"


def _said(delivery: Delivery, lot: Lot) -> str:
    said = f"{lot} is in the stores."
    for part in delivery.past_expiry():
        said += (
            f" Note: lot {part.number} was past its expiry, {part.expires_on:%-d %B %Y}, on the "
            "day it was received."
        )
    return said

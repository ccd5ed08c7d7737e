"""Products, their data sheets and the packs they are sold in.

These pages stand here and not in `materials`, since they show and read figures in the units of
the person, which `properties` keeps."""

from __future__ import annotations

from copy import copy
from decimal import Decimal
from typing import Any

from django.contrib.auth.decorators import permission_required
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.db.models import QuerySet
from django.forms import model_to_dict
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from config.quantities import UnitSystem
from materials.filters import ProductFilter
from materials.forms.products import KitForm, ProductForm, SheetForm
from materials.models import Kit, Lot, Product, SheetRevision
from materials.money import show_money
from materials.packs import contents_in_words
from materials.sheet_figures import FIGURES, shown_groups
from materials.stock import add_sheet
from materials.tables import LotTable, ProductTable
from properties.exports import ListExport
from properties.units import units_for
from properties.views.form_page import FormPage, answer_form, sent, today
from repairs.views.stores import RESIN_CAUTIONS

FORM = "materials/stores_form.html"


class ProductList(PermissionRequiredMixin, ListExport, SingleTableMixin, FilterView):
    permission_required = "materials.view_product"
    table_class = ProductTable
    filterset_class = ProductFilter
    template_name = "materials/product_list.html"
    paginate_by = 50
    export_name = "products"

    def get_queryset(self) -> QuerySet[Product]:
        return Product.objects.with_current_sheet().with_lot_count()

    def get_filterset_kwargs(self, filterset_class: Any) -> dict[str, Any]:
        return {
            **super().get_filterset_kwargs(filterset_class),
            "data": self.request.GET,
            "on": today(),
        }


@permission_required("materials.view_product", raise_exception=True)
def product_detail(request: HttpRequest, pk: int) -> HttpResponse:
    product = get_object_or_404(Product.objects.with_current_sheet(), pk=pk)
    system = units_for(request.user)
    lots = Lot.objects.for_list().filter(product=product).in_order_of_last_day()
    sheets = product.sheets_newest_first  # type: ignore[attr-defined]
    return render(
        request,
        "materials/product_detail.html",
        {
            "product": product,
            "in_force": product.sheet_on(today()),
            "sheets": [(sheet, shown_groups(sheet, system)) for sheet in sheets],
            "kits": [_pack(kit, product, system) for kit in product.kits.all()],
            "lots": LotTable(lots, on=today(), units=system, orderable=False, exclude=("product",)),
            "cautions": RESIN_CAUTIONS,
        },
    )


def _pack(kit: Kit, product: Product, system: UnitSystem) -> tuple[Kit, str, str]:
    """A pack, what it holds and its list price, in words."""
    kit.product = product
    price = "" if kit.price_minor is None else show_money(kit.price_minor, kit.currency)
    return kit, contents_in_words(kit, system), price


@permission_required("materials.add_product", raise_exception=True)
def product_new(request: HttpRequest) -> HttpResponse:
    page = FormPage(
        title="A new product",
        lead="What a maker sells. Its figures follow with its data sheet, its packs with their "
        "contents and prices.",
        save="Save this product",
        template=FORM,
    )
    form = ProductForm(sent(request), on=today())
    return answer_form(request, form, page, form.save)


@permission_required("materials.change_product", raise_exception=True)
def product_edit(request: HttpRequest, pk: int) -> HttpResponse:
    product = get_object_or_404(Product, pk=pk)
    page = FormPage(
        title=f"Change {product.name}",
        lead="The name shows on every record of this product, also on old ones.",
        save="Save this product",
        template=FORM,
        trail=(copy(product),),
    )
    form = ProductForm(sent(request), instance=product, on=today())
    return answer_form(request, form, page, form.save)


@permission_required("materials.add_sheetrevision", raise_exception=True)
def sheet_new(request: HttpRequest, pk: int) -> HttpResponse:
    product = get_object_or_404(Product, pk=pk)
    last = product.sheets.order_by("-issued_on", "-pk").first()
    form = SheetForm(
        sent(request), product=product, on=today(), units=units_for(request.user),
        initial=_figures_of(last),
    )  # fmt: skip
    page = FormPage(
        title=f"Enter a data sheet of {product.name}",
        lead="One revision with its figures as printed. Batches from its day on are judged by it; "
        "older batches keep the sheet of their day, so a sheet is never changed: a slip is put "
        "right by a further revision.",
        save="Save this sheet",
        template="materials/sheet_new.html",
        trail=(product,),
        also={"last": last},
    )
    return answer_form(request, form, page, lambda: add_sheet(form.save(commit=False)))


def _figures_of(last: SheetRevision | None) -> dict[str, Any]:
    """What the last sheet said, to begin the next one with."""
    if last is None:
        return {}
    figures = model_to_dict(last, fields=list(FIGURES))
    for name, value in figures.items():
        if isinstance(value, Decimal) and FIGURES[name].kind is None:
            figures[name] = f"{value.normalize():f}"
    return {**figures, "does_not_apply": last.not_applicable}


@permission_required("materials.add_kit", raise_exception=True)
def kit_new(request: HttpRequest, pk: int) -> HttpResponse:
    product = get_object_or_404(Product, pk=pk)
    page = FormPage(
        title=f"Enter a pack of {product.name}",
        lead="How much a pack holds and what it costs by the list.",
        save="Save this pack",
        template=FORM,
        trail=(product,),
    )
    form = KitForm(
        sent(request), product=product, on=today(), units=units_for(request.user),
        initial={"currency": "GBP"},
    )  # fmt: skip
    return answer_form(request, form, page, form.save)


@permission_required("materials.change_kit", raise_exception=True)
def kit_edit(request: HttpRequest, pk: int) -> HttpResponse:
    kit = get_object_or_404(Kit.objects.select_related("product"), pk=pk)
    page = FormPage(
        title=f"Change {kit.name}",
        lead="Lots that were received keep what came with them; only packs to come are other.",
        save="Save this pack",
        template=FORM,
        trail=(kit.product,),
    )
    form = KitForm(
        sent(request), instance=kit, product=kit.product, on=today(),
        units=units_for(request.user),
    )  # fmt: skip
    return answer_form(request, form, page, form.save)

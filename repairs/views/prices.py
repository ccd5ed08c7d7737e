"""The price indexes by which old money is told in today's."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from properties.models import Property
from repairs.costs.prices import index_table, keep_years
from repairs.forms.prices import PriceFileForm, PriceIndexForm, PriceYearForm
from repairs.models import PriceIndex

managers_only = permission_required("repairs.change_priceindex", raise_exception=True)


@managers_only
@require_safe
def price_index_list(request: HttpRequest) -> HttpResponse:
    indexes = list(PriceIndex.objects.with_reach())
    kept = {index.currency for index in indexes}
    used = set(Property.objects.order_by().values_list("currency", flat=True).distinct())
    context = {"indexes": indexes, "without": sorted(used - kept)}
    return render(request, "repairs/price_index_list.html", context)


@managers_only
@require_http_methods(["GET", "HEAD", "POST"])
def price_index_new(request: HttpRequest) -> HttpResponse:
    form = PriceIndexForm(request.POST or None, initial={"currency": request.GET.get("currency")})
    if form.is_valid():
        index = form.save()
        messages.success(request, "Saved. Write its years, or load them from a file.")
        return redirect(index)
    return render(request, "repairs/price_index_edit.html", {"form": form, "index": None})


@managers_only
@require_http_methods(["GET", "HEAD", "POST"])
def price_index_edit(request: HttpRequest, pk: int) -> HttpResponse:
    index = get_object_or_404(PriceIndex, pk=pk)
    form = PriceIndexForm(request.POST or None, instance=index)
    if form.is_valid():
        messages.success(request, "Saved.")
        return redirect(form.save())
    context = {"form": form, "index": get_object_or_404(PriceIndex, pk=pk)}
    return render(request, "repairs/price_index_edit.html", context)


@managers_only
@require_http_methods(["GET", "HEAD", "POST"])
def price_index_detail(request: HttpRequest, pk: int) -> HttpResponse:
    index = get_object_or_404(PriceIndex, pk=pk)
    if year := request.POST.get("take-out"):
        return _take_out(request, index, year)
    table = index_table(index)
    chosen = next((row for row in table.rows if str(row.year) == request.GET.get("year")), None)
    initial = {"year": chosen.year, "value": chosen.written} if chosen else None
    form = PriceYearForm(request.POST or None, initial=initial)
    if form.is_valid():
        messages.success(request, keep_years(index, form.years()).in_words())
        return redirect(index)
    context = {"index": index, "table": table, "form": form, "chosen": chosen}
    return render(request, "repairs/price_index_detail.html", context)


def _take_out(request: HttpRequest, index: PriceIndex, year: str) -> HttpResponse:
    wrong = next((row for row in index.years.all() if str(row.year) == year), None)
    if wrong is not None:
        wrong.delete()
        messages.success(request, f"{year} is taken out.")
    return redirect(index)


@managers_only
@require_http_methods(["GET", "HEAD", "POST"])
def price_index_load(request: HttpRequest, pk: int) -> HttpResponse:
    index = get_object_or_404(PriceIndex, pk=pk)
    sent = request.method == "POST"
    form = PriceFileForm(request.POST, request.FILES) if sent else PriceFileForm()
    if form.is_valid():
        messages.success(request, keep_years(index, form.cleaned_data["file"]).in_words())
        return redirect(index)
    return render(request, "repairs/price_index_load.html", {"index": index, "form": form})

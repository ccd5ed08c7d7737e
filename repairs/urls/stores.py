from django.urls import URLPattern, URLResolver, include, path

from repairs.urls.table_kind import TABLE
from repairs.views import lots, products, recall, stores

# /lots/5/
lot_urls = [
    path("", lots.lot_detail, name="lot-detail"),
    path("edit/", lots.lot_edit, name="lot-edit"),
    path("lines/<int:movement_pk>/take-back/", lots.movement_correct, name="movement-correct"),
    *(path(f"{act}/", lots.lot_act, {"act": act}, name=f"lot-{act}") for act in lots.ACTS),
]

# /products/5/
product_urls = [
    path("", products.product_detail, name="product-detail"),
    path("edit/", products.product_edit, name="product-edit"),
    path("sheets/new/", products.sheet_new, name="sheet-new"),
    path("kits/new/", products.kit_new, name="kit-new"),
]

# /
urlpatterns: list[URLPattern | URLResolver] = [
    path("stores/", stores.StoreList.as_view(), name="store-list"),
    path("stores/receive/", stores.lot_receive, name="lot-receive"),
    path("stores/recall/", recall.recall_choose, name="recall-choose"),
    path("stores/recall/<slug:what>/<int:pk>/", recall.recall, name="recall"),
    path(
        f"stores/recall/<slug:what>/<int:pk>.<{TABLE}:kind>", recall.recall_file, name="recall-file"
    ),
    path("stores/recall/<slug:what>/<int:pk>/looks/", recall.recall_looks, name="recall-looks"),
    path("lots/<int:pk>/", include(lot_urls)),
    path("products/", products.ProductList.as_view(), name="product-list"),
    path("products/new/", products.product_new, name="product-new"),
    path("products/<int:pk>/", include(product_urls)),
    path("buildings/<int:pk>/lots/", lots.building_lots, name="building-lots"),
    path("kits/<int:pk>/edit/", products.kit_edit, name="kit-edit"),
]

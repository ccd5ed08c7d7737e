from django.urls import path

from repairs.views import prices

urlpatterns = [
    path("prices/", prices.price_index_list, name="price-index-list"),
    path("prices/new/", prices.price_index_new, name="price-index-new"),
    path("prices/<int:pk>/", prices.price_index_detail, name="price-index-detail"),
    path("prices/<int:pk>/change/", prices.price_index_edit, name="price-index-edit"),
    path("prices/<int:pk>/load/", prices.price_index_load, name="price-index-load"),
]

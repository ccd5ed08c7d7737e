from django.urls import URLPattern, URLResolver, path

from repairs.views import members, places

urlpatterns: list[URLPattern | URLResolver] = [
    path("properties/<int:pk>/", places.property_detail, name="property-detail"),
    path("buildings/<int:pk>/", places.building_detail, name="building-detail"),
    path("elevations/<int:pk>/", places.elevation_detail, name="elevation-detail"),
    path("members/<int:pk>/", members.member_detail, name="member-detail"),
    path("members/<int:pk>/replace/", members.member_replace, name="member-replace"),
    path("defects/<int:pk>/", members.defect_detail, name="defect-detail"),
]

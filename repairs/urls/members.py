from django.urls import URLPattern, URLResolver, path

from properties.views.members import member_new
from repairs.due.first_looks import set_first_looks
from repairs.views import members, places

urlpatterns: list[URLPattern | URLResolver] = [
    path("properties/<int:pk>/", places.property_detail, name="property-detail"),
    path("buildings/<int:pk>/", places.building_detail, name="building-detail"),
    path("elevations/<int:pk>/", places.elevation_detail, name="elevation-detail"),
    # The page is of the properties; here it also sets when each new member is first looked at.
    path(
        "buildings/<int:pk>/members/new/",
        member_new,
        {"entered": set_first_looks},
        name="member-new",
    ),
    path("members/<int:pk>/", members.member_detail, name="member-detail"),
    path("members/<int:pk>/replace/", members.member_replace, name="member-replace"),
    path("defects/<int:pk>/", members.defect_detail, name="defect-detail"),
]

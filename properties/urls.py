from django.urls import URLPattern, URLResolver, include, path

from properties.views import buildings, climate, defects, members, owners, properties, weather

# /properties/5/
property_urls = [
    path("edit/", properties.property_edit, name="property-edit"),
    path("change-owner/", properties.property_change_owner, name="property-change-owner"),
    path("give-up/", properties.property_give_up, name="property-give-up"),
    path("buildings/new/", buildings.building_new, name="building-new"),
    path("climate/", climate.monthly_normals, name="monthly-normals"),
    path("weather/", weather.weather_file, name="weather-file"),
    path("weather/remove/", weather.weather_remove, name="weather-remove"),
]

# /buildings/5/
building_urls = [
    path("edit/", buildings.building_edit, name="building-edit"),
    path("elevations/new/", buildings.elevation_new, name="elevation-new"),
]

# /members/5/
member_urls = [
    path("edit/", members.member_edit, name="member-edit"),
    path("defects/new/", defects.defect_new, name="defect-new"),
    path("moisture/new/", defects.moisture_new, name="moisture-new"),
]

# /
urlpatterns: list[URLPattern | URLResolver] = [
    path("properties/", properties.PropertyList.as_view(), name="property-list"),
    path("properties/new/", properties.property_new, name="property-new"),
    path("properties/<int:pk>/", include(property_urls)),
    path("owners/", owners.OwnerList.as_view(), name="owner-list"),
    path("owners/new/", owners.owner_new, name="owner-new"),
    path("owners/<int:pk>/", owners.owner_detail, name="owner-detail"),
    path("owners/<int:pk>/edit/", owners.owner_edit, name="owner-edit"),
    path("buildings/<int:pk>/", include(building_urls)),
    path("elevations/<int:pk>/edit/", buildings.elevation_edit, name="elevation-edit"),
    path("members/<int:pk>/", include(member_urls)),
    path("defects/", defects.DefectList.as_view(), name="defect-list"),
    path("defects/<int:pk>/edit/", defects.defect_edit, name="defect-edit"),
]

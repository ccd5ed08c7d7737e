from django.urls import URLPattern, URLResolver, include, path

from repairs.urls.table_kind import TABLE
from repairs.views import repair_lives, repairs

# /repairs/5/
repair_urls = [
    path("", repairs.repair_detail, name="repair-detail"),
    path("sign-off/", repairs.repair_sign_off, name="repair-sign-off"),
    path("finish/", repairs.repair_finish, name="repair-finish"),
    path("withdraw/", repairs.repair_withdraw, name="repair-withdraw"),
    path("remarks/<int:remark_pk>/release/", repairs.repair_release, name="repair-release"),
]

# /repairs/
urlpatterns: list[URLPattern | URLResolver] = [
    path("repairs/", repairs.RepairList.as_view(), name="repair-list"),
    path("repairs/lives/", repair_lives.repair_lives, name="repair-lives"),
    path(f"repairs/lives.<{TABLE}:kind>", repair_lives.repair_lives, name="repair-lives-file"),
    path("repairs/<int:pk>/", include(repair_urls)),
]

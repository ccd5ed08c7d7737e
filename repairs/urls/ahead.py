"""The years ahead, the rates that they are reckoned with, and the work moved in them."""

from django.urls import path

from repairs.urls.table_kind import TABLE
from repairs.views import ahead, work_moves, work_rates

urlpatterns = [
    path("ahead/", ahead.ahead_list, name="ahead-list"),
    path(f"ahead.<{TABLE}:kind>", ahead.ahead_list, name="ahead-list-file"),
    path("ahead/moves/<int:pk>/drop/", work_moves.work_move_drop, name="work-move-drop"),
    path("properties/<int:pk>/ahead/", ahead.ahead_property, name="ahead-property"),
    path(
        f"properties/<int:pk>/ahead.<{TABLE}:kind>",
        ahead.ahead_property,
        name="ahead-property-file",
    ),
    path("properties/<int:pk>/ahead/move/", work_moves.work_move_new, name="work-move-new"),
    path("properties/<int:pk>/rates/", work_rates.work_rates, name="work-rates"),
]

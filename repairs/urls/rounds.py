from django.urls import URLPattern, URLResolver, path

from repairs.views import round_new, round_sheet, rounds, rounds_walk

urlpatterns: list[URLPattern | URLResolver] = [
    # /rounds/
    path("rounds/", rounds.round_list, name="round-list"),
    path("rounds/new/", round_new.round_new, name="round-new"),
    path("rounds/<int:pk>/", rounds.round_detail, name="round-detail"),
    path("rounds/<int:pk>/edit/", rounds.round_edit, name="round-edit"),
    path("rounds/<int:pk>/end/", rounds.round_end, name="round-end"),
    path("rounds/<int:pk>/walk/", rounds_walk.round_walk, name="round-walk"),
    path("rounds/<int:pk>/stops/<int:stop>/", rounds_walk.round_stop, name="round-stop"),
    path("rounds/<int:pk>/sheet.pdf", round_sheet.round_sheet_file, name="round-sheet"),
]

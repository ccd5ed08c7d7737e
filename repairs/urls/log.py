from django.urls import URLPattern, URLResolver, path

from repairs.views import log, photographs

urlpatterns: list[URLPattern | URLResolver] = [
    path("repairs/log/", log.repair_log, name="repair-log"),
    path("repairs/log/members/", log.member_search, name="member-search"),
    path("repairs/drafts/", log.draft_list, name="draft-list"),
    path("repairs/drafts/<uuid:key>/throw-away/", log.draft_throw_away, name="draft-throw-away"),
    path("photographs/<int:pk>/", photographs.photograph_file, name="photograph-file"),
    path(
        "photographs/draft/<int:pk>/",
        photographs.draft_photograph_file,
        name="draft-photograph-file",
    ),
]

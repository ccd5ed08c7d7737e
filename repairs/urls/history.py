from django.urls import URLPattern, URLResolver, path

from repairs.views import history

# /properties/5/
urlpatterns: list[URLPattern | URLResolver] = [
    path("properties/<int:pk>/history/", history.history_page, name="history-page"),
    path("properties/<int:pk>/history.pdf", history.history_pdf, name="history-pdf"),
]

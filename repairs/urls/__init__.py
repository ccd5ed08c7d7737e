from django.urls import include, path

SUBJECTS = (
    "today",
    "log",
    "plans",
    "repairs",
    "inspections",
    "rounds",
    "costs",
    "prices",
    "ahead",
    "history",
    "members",
    "stores",
    "people",
    "calendars",
)

urlpatterns = [path("", include(f"repairs.urls.{subject}")) for subject in SUBJECTS]

from django.urls import path, register_converter

from repairs.views import calendars


class Token:
    """Only what a token can look like reaches the database; all else is not found."""

    regex = "[A-Za-z0-9_-]{43}"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


register_converter(Token, "token")

urlpatterns = [
    # /calendars/
    path("calendars/", calendars.calendar_feeds, name="calendar-feeds"),
    path("calendars/<token:token>.ics", calendars.calendar_file, name="calendar-file"),
    path("calendars/<uuid:key>/renew/", calendars.calendar_renew, name="calendar-renew"),
    path("calendars/<uuid:key>/remove/", calendars.calendar_remove, name="calendar-remove"),
    # /mail/
    path("mail/", calendars.mail_choices, name="mail-choices"),
]

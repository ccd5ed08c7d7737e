"""The project's addresses and one page with nothing on it, to compare with."""

from django.shortcuts import render
from django.urls import include, path

urlpatterns = [
    path("empty/", lambda request: render(request, "base.html"), name="empty"),
    path("", include("config.urls")),
]

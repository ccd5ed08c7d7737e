from django.contrib.auth import views as auth_views
from django.urls import include, path

urlpatterns = [
    path("log-in/", auth_views.LoginView.as_view(), name="log-in"),
    path("log-out/", auth_views.LogoutView.as_view(), name="log-out"),
    path("", include("properties.urls")),
    path("", include("materials.urls")),
    path("", include("repairs.urls")),
]

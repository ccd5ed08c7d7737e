from django.contrib.auth import views as auth_views
from django.urls import include, path, reverse_lazy

from config.log_in import LogInForm

urlpatterns = [
    path("log-in/", auth_views.LoginView.as_view(authentication_form=LogInForm), name="log-in"),
    path("log-out/", auth_views.LogoutView.as_view(), name="log-out"),
    path(
        "password/",
        auth_views.PasswordChangeView.as_view(success_url=reverse_lazy("password-changed")),
        name="password-change",
    ),
    path(
        "password/changed/",
        auth_views.PasswordChangeDoneView.as_view(),
        name="password-changed",
    ),
    path("", include("properties.urls")),
    path("", include("repairs.urls")),
]

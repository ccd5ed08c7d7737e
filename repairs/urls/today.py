from django.urls import URLPattern, URLResolver, path

from repairs.views.today import today

urlpatterns: list[URLPattern | URLResolver] = [path("", today, name="today")]

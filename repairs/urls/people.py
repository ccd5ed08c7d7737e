from django.urls import path

from repairs.views import people

urlpatterns = [
    path("people/", people.person_list, name="person-list"),
    path("people/new/", people.person_new, name="person-new"),
    path("people/<int:pk>/", people.person_edit, name="person-edit"),
    path("records/", people.record_list, name="record-list"),
    path("changes/<slug:model>/<int:pk>/", people.change_log, name="change-log"),
]

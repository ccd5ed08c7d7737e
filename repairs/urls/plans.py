from django.urls import path

from repairs.views import work_sheet as sheet_views

urlpatterns = [
    path("plans/<int:pk>/work-sheet.pdf", sheet_views.work_sheet, name="plan-sheet"),
]

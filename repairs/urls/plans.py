from django.urls import URLPattern, URLResolver, include, path

from repairs.views import plans, work_sheet

# /plans/5/
plan_urls = [
    path("", plans.plan_detail, name="plan-detail"),
    path("change/", plans.plan_edit, name="plan-edit"),
    path("drop/", plans.plan_drop, name="plan-drop"),
    path("work-sheet.pdf", work_sheet.work_sheet, name="plan-sheet"),
]

urlpatterns: list[URLPattern | URLResolver] = [
    path("defects/<int:pk>/plan/", plans.plan_new, name="plan-new"),
    path("defects/<int:pk>/plan/figures/", plans.plan_figures, name="plan-figures"),
    # /plans/
    path("plans/", plans.PlanList.as_view(), name="plan-list"),
    path("plans/<int:pk>/", include(plan_urls)),
]

from django.urls import URLPattern, URLResolver, path

from repairs.views import due_dates, inspection_new, inspections, rule_dates, rules

urlpatterns: list[URLPattern | URLResolver] = [
    # /inspections/
    path("inspections/", inspections.inspection_list, name="inspection-list"),
    path("inspections/calendar/", inspections.inspection_calendar, name="inspection-calendar"),
    path("inspections/new/", inspection_new.inspection_new, name="inspection-new"),
    path("inspections/<int:pk>/", inspections.inspection_detail, name="inspection-detail"),
    # /due/
    path("due/<int:pk>/", due_dates.due_detail, name="due-detail"),
    path("due/<int:pk>/edit/", due_dates.due_edit, name="due-edit"),
    # /rules/
    path("rules/", rules.rule_list, name="rule-list"),
    path("rules/dates/", rule_dates.rule_dates, name="rule-dates"),
    path("rules/new/", rules.rule_new, name="rule-new"),
    path("rules/<int:pk>/", rules.rule_edit, name="rule-edit"),
    path("rules/<int:pk>/move/", rules.rule_move, name="rule-move"),
    # /members/
    path("members/<int:pk>/due/new/", due_dates.due_new, name="due-new"),
    path("members/<int:pk>/interval/", rules.member_interval, name="member-interval"),
]

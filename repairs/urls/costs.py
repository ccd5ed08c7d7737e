from django.urls import path, register_converter

from repairs.views import costs, shared_costs


class FileKind:
    """The endings that a report can be had with."""

    regex = "pdf|xlsx"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


register_converter(FileKind, "file_kind")

urlpatterns = [
    path("costs/", costs.cost_list, name="cost-list"),
    path("costs/all/", costs.cost_portfolio, name="cost-portfolio"),
    path("costs/all.<file_kind:kind>", costs.cost_portfolio, name="cost-portfolio-file"),
    path("costs/property/<int:pk>/", costs.cost_property, name="cost-property"),
    path(
        "costs/property/<int:pk>.<file_kind:kind>", costs.cost_property, name="cost-property-file"
    ),
    path("costs/building/<int:pk>/", costs.cost_building, name="cost-building"),
    path(
        "costs/building/<int:pk>.<file_kind:kind>", costs.cost_building, name="cost-building-file"
    ),
    path("costs/building/<int:pk>/new/", costs.cost_line_new, name="cost-line-new"),
    path("costs/building/<int:pk>/share/", shared_costs.cost_shared_new, name="cost-shared-new"),
    path("costs/shared/<int:pk>/", shared_costs.cost_shared_detail, name="cost-shared-detail"),
    path(
        "costs/shared/<int:pk>/credit/", shared_costs.cost_shared_credit, name="cost-shared-credit"
    ),
    path(
        "costs/shared/<int:pk>/take-back/",
        shared_costs.cost_shared_take_back,
        name="cost-shared-take-back",
    ),
    path("costs/lines/", costs.CostLineList.as_view(), name="cost-line-list"),
    path("costs/lines/<int:pk>/", costs.cost_line_detail, name="cost-line-detail"),
    path("costs/lines/<int:pk>/take-back/", costs.cost_line_reverse, name="cost-line-reverse"),
]

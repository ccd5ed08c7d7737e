"""Which rows stand on the properties that a person may see."""

import pytest

from properties.access import properties_for
from properties.models import Defect, Member, Property
from repairs.models import CostLine, DueDate, Inspection, Repair, Stage
from tests import factories

pytestmark = pytest.mark.django_db


def test_rows_of_all_properties_ask_for_no_property() -> None:
    everything = properties_for(factories.make_manager())
    factories.DefectFactory()
    assert Defect.objects.within(everything).count() == 1
    assert "properties_property" not in str(Defect.objects.within(everything).order_by().query)


@pytest.mark.parametrize(
    ("model", "make"),
    [
        (Member, factories.MemberFactory),
        (Defect, factories.DefectFactory),
        (Repair, factories.RepairFactory),
        (Stage, factories.StageFactory),
        (Inspection, factories.InspectionFactory),
        (DueDate, factories.DueDateFactory),
        (CostLine, factories.CostLineFactory),
    ],
)
def test_rows_of_some_properties_are_only_theirs(model, make) -> None:
    row = make()
    viewer = factories.make_viewer(factories.PropertyFactory())
    first = Property.objects.order_by("pk")
    for narrow in (
        properties_for(viewer),
        properties_for(factories.make_viewer()),
        Property.objects.none(),
        first.filter(name="elsewhere"),
        first[:0],
        first.none().union(first.none()),
    ):
        assert row not in model.objects.within(narrow)
    assert row in model.objects.within(Property.objects.all())
    assert row in model.objects.within(Property.objects.exclude(name="elsewhere"))

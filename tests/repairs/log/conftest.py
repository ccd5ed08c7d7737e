"""A crew member at the log page, one member to repair and one kit in stores."""

from __future__ import annotations

import pytest
import time_machine

from materials.models import Product
from tests.factories import (
    MemberFactory,
    ProductFactory,
    SheetRevisionFactory,
    make_crew,
    make_kit_lot,
)
from tests.repairs.log.form import NOW


@pytest.fixture(autouse=True)
def _afternoon():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def crew(db):
    return make_crew(first_name="Robin", last_name="Larch")


@pytest.fixture
def page(client, crew):
    client.force_login(crew)
    return client


@pytest.fixture
def sill(db):
    return MemberFactory(mark="N-SILL-03")


@pytest.fixture
def resin(db):
    product = ProductFactory(name="Invented Seal", kind=Product.Kind.LAMINATING_RESIN)
    SheetRevisionFactory(product=product)
    return product


@pytest.fixture
def kit(resin):
    return make_kit_lot(resin, number="K-17")

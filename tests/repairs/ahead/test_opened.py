"""What the price of one job opens to."""

from datetime import date
from decimal import Decimal

from repairs.ahead.figures import Job
from repairs.ahead.money import Band
from repairs.ahead.opened import job_figure


def job(number: str, today: Band | None) -> Job:
    return Job(
        kind="repair", member_id=1, mark="N-SILL-01", place="Mill House", elevation_id=None,
        on=date(2027, 3, 1), number=Decimal(number), today=today,
        money_from="the one repair of this building, 2024", why="", moved_from=None, url="",
    )  # fmt: skip


def test_a_repair_that_is_only_expected_says_from_which_curve() -> None:
    found = job_figure(job("0.3", Band(300, 600, 900)), "GBP")
    assert found is not None
    assert "Kaplan and Meier" in found.symbols
    assert found.source.startswith("The one repair of this building, 2024; conditional")
    assert dict(found.inputs)["Likely"] == "GBP 6.00"
    assert dict(found.inputs)["Of one"] == "0.3"


def test_a_repair_that_is_planned_says_where_its_price_is_from_and_no_curve() -> None:
    found = job_figure(job("1", Band(300, 600, 900)), "GBP")
    assert found is not None
    assert (found.formula, found.source) == ("", "The one repair of this building, 2024")


def test_a_job_without_a_price_opens_to_nothing() -> None:
    assert job_figure(job("1", None), "GBP") is None

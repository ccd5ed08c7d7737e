"""Figures in templates: the reader's units, and words where nothing is known."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.template import Context, Template

NIGHT = datetime(2026, 3, 28, 22, 30, tzinfo=UTC)


def drawn(source: str, **values: Any) -> str:
    return Template(source).render(Context(values))


@pytest.mark.parametrize(
    ("name", "value", "metric", "us"),
    [
        ("length", Decimal("38.1"), "38.1 mm", "1 1/2 in"), ("area", 1, "1 m²", "10.76 ft²"),
        ("mass", Decimal("170.097"), "170.1 g", "6 oz"), ("volume", 250, "250 ml", "8.454 fl oz"),
        ("temperature", 0, "0 °C", "32 °F"), ("density", Decimal("1.1"), "1.1 g/ml", "1.1 g/ml"),
    ],
)  # fmt: skip
def test_a_figure_is_drawn_in_the_readers_units(
    name: str, value: object, metric: str, us: str
) -> None:
    assert drawn("{{ value|as_" + name + " }}", value=value) == metric
    assert drawn("{{ value|as_" + name + ":system }}", value=value, system="us") == us


@pytest.mark.parametrize(
    "name",
    ["as_length", "as_mass", "as_temperature", "as_duration", "as_percent", "as_day", "in_zone",
     "or_not_recorded"],
)  # fmt: skip
def test_what_is_not_known_is_said_in_words(name: str) -> None:
    assert drawn("{{ value|" + name + " }}", value=None) == "not recorded"


def test_nought_is_not_unknown() -> None:
    assert drawn("{{ a|or_not_recorded }} {{ a|as_mass }} {{ a|as_percent }}", a=0) == "0 0 g 0 %"
    assert drawn("{{ a|as_duration }}", a=timedelta(0)) == "0 min"
    assert drawn("{{ a|or_not_recorded }}", a="<b>") == "&lt;b&gt;"


def test_a_share_is_drawn_in_percent() -> None:
    assert drawn("{{ a|as_percent }}, {{ b|as_percent }}", a=Decimal("13.00"), b=12.25) == (
        "13 %, 12.3 %"
    )


def test_an_instant_is_drawn_as_the_clock_on_site_showed_it() -> None:
    """Acceptance scenario 14: 12 hours after 28 March 2026, 22:30 in London it is 11:30."""
    source = '{{ when|in_zone:"Europe/London" }}'
    assert drawn(source, when=NIGHT) == "28 March 2026, 22:30"
    assert drawn(source, when=NIGHT + timedelta(hours=12)) == "29 March 2026, 11:30"


def test_a_day_is_drawn_with_its_month_in_letters() -> None:
    assert drawn("{{ day|as_day }}", day=date(2026, 5, 3)) == "3 May 2026"
    assert drawn('{{ day|as_day:"Asia/Tokyo" }}', day=NIGHT) == "29 March 2026"


def test_money_is_drawn_with_its_currency() -> None:
    source = "{% load money_tags %}{{ minor|money:currency }}"
    assert drawn(source, minor=123450, currency="GBP") == "GBP 1,234.50"
    assert drawn(source, minor=None, currency="GBP") == "not recorded"
    assert drawn(source, minor=0, currency="GBP") == "GBP 0.00"


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("Surface 5 °C: too cold.", "Surface 41 °F: too cold."),
        ("at least 3 °C above, here 7.8 °C", "at least 5.4 °F above, here 46 °F"),
        ("0.2 °C above the dew point of 4.8 °C (air 6 °C, 92 %)",
         "0.4 °F above the dew point of 40.6 °F (air 42.8 °F, 92 %)"),
        ("at least 80 °C, 10 K over 70 °C", "at least 176 °F, 18 °F over 158 °F"),
        ("A layer of 12.7 mm.", "A layer of 1/2 in."),
        ("A 33 g, lot 12 mm-4, −4 °C", "A 33 g, lot 12 mm-4, 24.8 °F"),
    ],
)  # fmt: skip
def test_a_sentence_is_told_in_the_reader_s_units(metric, us):
    assert drawn("{{ text|in_units:system }}", text=metric, system="us") == us
    assert drawn("{{ text|in_units:system }}", text=metric, system="metric") == metric

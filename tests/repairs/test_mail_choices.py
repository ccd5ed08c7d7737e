"""The page on which a person chooses their mails, and what is usual where nothing is chosen."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from properties.models import Person
from repairs.mails.choices import MailChoices, choices_of
from tests import factories as make

TYPED = {"weekly_mail": "yes", "weekly_mail_day": "4", "day_before_mail": "no", "mails_tell": "own"}
pytestmark = pytest.mark.django_db


@pytest.fixture
def crew(client: Client) -> Any:
    user = make.make_crew(email="robin@example.org")
    client.force_login(user)
    client.user = user  # type: ignore[attr-defined]
    return client


def test_mails_are_usual_but_for_viewers() -> None:
    manager, crew = make.make_manager(), make.make_crew()
    viewer = make.make_viewer(make.PropertyFactory())
    assert choices_of(manager) == MailChoices(True, 0, True, "every")
    assert choices_of(crew) == MailChoices(True, 0, True, "own")
    assert choices_of(viewer) == MailChoices(False, 0, False, "every")


def test_what_was_chosen_goes_before_what_is_usual(crew: Any) -> None:
    crew.post(reverse("mail-choices"), TYPED)
    person = Person.objects.get(user=crew.user)
    assert choices_of(person.user) == MailChoices(True, 4, False, "own")


def test_nothing_chosen_stays_so_when_it_is_saved(crew: Any) -> None:
    crew.post(reverse("mail-choices"), {"weekly_mail_day": "0"})
    person = Person.objects.get(user=crew.user)
    assert (person.weekly_mail, person.day_before_mail, person.mails_tell) == (None, None, "")


def test_a_choice_is_shown_again_and_kept_in_the_history(crew: Any) -> None:
    crew.post(reverse("mail-choices"), TYPED)
    page = crew.get(reverse("mail-choices"))
    assert page.context["form"]["weekly_mail"].value() == "yes"
    assert page.context["form"]["day_before_mail"].value() == "no"
    assert "Each week a mail goes to robin@example.org." in page.text
    assert Person.objects.get(user=crew.user).history.count() == 1


@pytest.mark.parametrize(
    "wrong", [{"weekly_mail": "perhaps"}, {"weekly_mail_day": "7"}, {"weekly_mail_day": ""},
              {"mails_tell": "x" * 300}, {"day_before_mail": "a\0b"}]
)  # fmt: skip
def test_what_is_no_choice_is_refused_and_the_rest_stays_typed(crew: Any, wrong: Any) -> None:
    page = crew.post(reverse("mail-choices"), {**TYPED, **wrong})
    assert "Nothing is saved yet." in page.text
    assert not Person.objects.filter(user=crew.user).exists()


def test_the_page_says_what_is_usual_for_whom(crew: Any, client: Client) -> None:
    page = crew.get(reverse("mail-choices")).text
    assert page.count("As usual for me: yes") == 2
    assert "As usual for me: what I am to look at" in page
    client.force_login(make.make_viewer(make.PropertyFactory()))
    assert client.get(reverse("mail-choices")).text.count("As usual for me: no") == 2


def test_a_person_without_an_address_is_told(client: Client) -> None:
    client.force_login(make.make_crew(email=""))
    assert "No mail reaches you" in client.get(reverse("mail-choices")).text


def test_ones_properties_and_units_are_left_as_they_are(client: Client) -> None:
    of = make.PropertyFactory()
    viewer = make.make_viewer(of)
    Person.objects.update(unit_system="us")
    client.force_login(viewer)
    client.post(reverse("mail-choices"), TYPED)
    person = Person.objects.get(user=viewer)
    assert (person.unit_system, list(person.properties.all())) == ("us", [of])


@given(
    on=st.dates(date(2000, 1, 1), date(2100, 1, 1)),
    weekday=st.integers(0, 6),
    later=st.integers(0, 6),
)
def test_a_week_begins_on_the_chosen_day_and_lasts_seven(
    on: date, weekday: int, later: int
) -> None:
    choices = MailChoices(True, weekday, True, "own")
    begins = choices.week_begins(on)
    assert begins.weekday() == weekday
    assert timedelta(0) <= on - begins <= timedelta(days=6)
    assert choices.week_begins(begins + timedelta(days=later)) == begins

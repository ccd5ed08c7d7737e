"""People: who may log in, and what for."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from repairs.roles import CREW, MANAGERS, VIEWERS, role_of
from tests.factories import PASSWORD, PropertyFactory, UserFactory, make_crew, make_manager

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    client.user = make_manager()
    client.force_login(client.user)
    return client


def typed(**changes):
    return {
        "first_name": "Linnet",
        "last_name": "Birch",
        "username": "linnet",
        "is_active": "on",
        "role": CREW,
        "new_password": "under-the-eaves-7",
        **changes,
    }


def test_a_new_person_can_log_in_with_the_password_handed_over(manager, client) -> None:
    manager.post(reverse("person-new"), typed())

    client.logout()
    assert client.login(username="linnet", password="under-the-eaves-7")
    assert role_of(User.objects.get(username="linnet")) == CREW


def test_a_viewer_is_given_properties_and_reads_only_those(manager, client) -> None:
    given, other = PropertyFactory(), PropertyFactory()

    manager.post(reverse("person-new"), typed(role=VIEWERS, properties=[given.pk]))

    client.force_login(User.objects.get(username="linnet"))
    assert client.get(given.get_absolute_url()).status_code == 200
    assert client.get(other.get_absolute_url()).status_code == 404


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"role": VIEWERS}, "Tick at least one property"),
        ({"new_password": ""}, "Still empty: type or choose"),
        ({"new_password": "12345678"}, "password"),
        ({"username": "<script>"}, "valid"),
    ],
)
def test_a_person_that_cannot_be_is_refused_and_the_rest_stays_typed(
    manager, changes, words
) -> None:
    page = manager.post(reverse("person-new"), typed(**changes)).content.decode()

    assert words in page
    assert "Linnet" in page
    assert not User.objects.filter(first_name="Linnet").exists()


def test_a_manager_cannot_take_their_own_rights_away(manager) -> None:
    user = manager.user
    page = manager.post(
        reverse("person-edit", args=[user.pk]),
        typed(username=user.username, role=CREW, new_password=""),
    )

    assert "another manager has to do it" in page.content.decode()
    user.refresh_from_db()
    assert role_of(user) == MANAGERS


def test_only_who_has_a_password_is_told_that_empty_keeps_it(manager) -> None:
    words = "Empty keeps the one they have."

    assert words not in manager.get(reverse("person-new")).text
    assert words in manager.get(reverse("person-edit", args=[make_crew().pk])).text


def test_a_superuser_without_a_role_is_shown_with_all_rights(manager) -> None:
    UserFactory(is_superuser=True)

    page = manager.get(reverse("person-list")).text

    assert "all rights" in page
    assert "may not read anything" not in page


def test_an_empty_password_keeps_the_old_one(manager, client) -> None:
    crew = make_crew()

    manager.post(
        reverse("person-edit", args=[crew.pk]), typed(username=crew.username, new_password="")
    )

    assert client.login(username=crew.username, password=PASSWORD)


def test_somebody_who_left_cannot_log_in_but_keeps_what_they_entered(manager, client) -> None:
    crew = make_crew()

    manager.post(
        reverse("person-edit", args=[crew.pk]),
        typed(username=crew.username, new_password="", is_active=""),
    )

    assert not client.login(username=crew.username, password=PASSWORD)
    assert User.objects.filter(pk=crew.pk).exists()


def test_crew_do_not_manage_people(client) -> None:
    client.force_login(make_crew())

    for address in (reverse("person-list"), reverse("person-new")):
        assert client.get(address).status_code == 403


def test_a_person_without_a_role_may_open_no_record(client) -> None:
    client.force_login(UserFactory())

    assert client.get(PropertyFactory().get_absolute_url()).status_code in {403, 404}


def test_more_people_ask_no_more_queries(manager) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            manager.get(reverse("person-list"))
        return len(queries)

    make_crew()
    few = count()
    for _ in range(20):
        make_crew()
    assert count() == few <= 12

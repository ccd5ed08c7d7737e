"""Several visitors at the same moment, each with a connection of their own."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

from django.contrib.auth.models import User
from django.db import connection
from django.test import Client


def at_once(*acts: Callable[[], Any], told: type[Exception] | tuple[()] = ()) -> list[Any]:
    """Do each from a thread of its own, all begun together; what it gives, or of an exception
    `told` that exception."""
    begin = Barrier(len(acts))

    def one(do: Callable[[], Any]) -> Any:
        try:
            begin.wait()
            return do()
        except told as refused:  # what the test says may happen
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(one, acts))


def sending(user: User, path: str, typed: dict[str, Any]) -> Callable[[], Any]:
    """A form that is ready to be sent, from a browser of its own."""
    client = Client()
    client.force_login(user)
    return lambda: client.post(path, typed)

"""The settings under test: a developer's machine, passwords hashed fast, N+1 queries refused."""

import os

os.environ["MAKEGOOD_DEBUG"] = "1"
# Playwright keeps an event loop in the test's own thread, which Django would take for async code.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

from config.settings import *  # noqa: F403
from config.settings import INSTALLED_APPS, MIDDLEWARE

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
INSTALLED_APPS = [*INSTALLED_APPS, "zeal"]
MIDDLEWARE = ["zeal.middleware.zeal_middleware", *MIDDLEWARE]

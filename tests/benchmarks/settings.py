"""Settings for measuring: as in production, on a database of its own."""

import os

os.environ.setdefault("MAKEGOOD_SECRET_KEY", "only-for-measuring")
os.environ.setdefault("MAKEGOOD_HTTPS", "0")
os.environ.setdefault("MAKEGOOD_ALLOWED_HOSTS", "testserver")

from config.settings import *  # noqa: F403

ROOT_URLCONF = "tests.benchmarks.urls"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# Hashed names need collectstatic first; that is not what is measured here.
STORAGES["staticfiles"] = {  # noqa: F405
    "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
}
LOGGING["root"]["level"] = "ERROR"  # type: ignore[index] # noqa: F405

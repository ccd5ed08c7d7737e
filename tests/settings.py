"""The settings under test: a developer's machine, with passwords hashed fast."""

import os

os.environ["MAKEGOOD_DEBUG"] = "1"

from config.settings import *  # noqa: E402, F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

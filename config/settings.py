"""The one settings file. What differs between machines comes from the environment."""

import os
import re
from pathlib import Path
from typing import Any
from zoneinfo import available_timezones

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent


def env_text(name: str, default: str = "") -> str:
    return os.environ.get(name, "").strip() or default


def env_flag(name: str, default: bool) -> bool:
    text = env_text(name).lower()
    if not text:
        return default
    if text in {"1", "yes", "true", "on"}:
        return True
    if text in {"0", "no", "false", "off"}:
        return False
    raise ImproperlyConfigured(f"{name} must be 1 or 0, not {text!r}.")


def env_number(name: str, default: int) -> int:
    text = env_text(name)
    if not text:
        return default
    if not text.isdecimal():
        raise ImproperlyConfigured(f"{name} must be a whole number, not {text!r}.")
    return int(text)


def env_list(name: str, default: str = "") -> list[str]:
    return [part.strip() for part in env_text(name, default).split(",") if part.strip()]


def env_time_zone(name: str, default: str) -> str:
    zone = env_text(name, default)
    if zone not in available_timezones():
        raise ImproperlyConfigured(
            f"{name} must be a time zone such as Europe/London, not {zone!r}."
        )
    return zone


def env_base_url(name: str) -> str:
    url = env_text(name).rstrip("/")
    if url and not re.fullmatch(r"https?://[^\s/?#@]+", url):
        raise ImproperlyConfigured(
            f"{name} must be an address such as https://records.example.org, not {url!r}."
        )
    return url


def secret_key() -> str:
    key = env_text("MAKEGOOD_SECRET_KEY")
    if key or DEBUG:
        return key or "not-a-secret-only-for-debugging"
    raise ImproperlyConfigured(
        "MAKEGOOD_SECRET_KEY is not set. Set it to a long random text, "
        "or set MAKEGOOD_DEBUG=1 if this is a developer's own machine."
    )


# Where things are kept

DATA_DIR = Path(env_text("MAKEGOOD_DATA", str(BASE_DIR / "var"))).absolute()
MEDIA_ROOT = Path(env_text("MAKEGOOD_MEDIA_ROOT", str(DATA_DIR / "media"))).absolute()
STATIC_ROOT = Path(env_text("MAKEGOOD_STATIC_ROOT", str(DATA_DIR / "static"))).absolute()
STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "config" / "static"]
DATA_DIR.mkdir(parents=True, exist_ok=True)


# Who may reach it, and how

DEBUG = env_flag("MAKEGOOD_DEBUG", default=False)
SECRET_KEY = secret_key()
ALLOWED_HOSTS = env_list("MAKEGOOD_ALLOWED_HOSTS")
CSRF_TRUSTED_ORIGINS = env_list("MAKEGOOD_CSRF_TRUSTED_ORIGINS")

# Where people open it. Mails need it for their links, since no request tells it to them.
BASE_URL = env_base_url("MAKEGOOD_BASE_URL")

HTTPS = env_flag("MAKEGOOD_HTTPS", default=not DEBUG)
SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = env_number("MAKEGOOD_HSTS_SECONDS", 365 * 24 * 3600) if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
if env_flag("MAKEGOOD_BEHIND_PROXY", default=False):
    # Only true behind a proxy that sets this header itself and drops the client's own.
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}


# What it is made of

INSTALLED_APPS = [
    "simple_history",
    "django_filters",
    "django_htmx",
    "django_tables2",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.humanize",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.forms",
    # Ours come last: the roles are made once the permissions of all three exist.
    "materials",
    "properties",
    "repairs",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.private_answers.private_answers",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
AUTHENTICATION_BACKENDS = ["properties.log_in.PersonBackend"]
LOGIN_URL = "log-in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "log-in"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
            "builtins": ["config.quantity_tags"],
            "libraries": {"page_tags": "config.page_tags"},
        },
    },
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"
DJANGO_TABLES2_TEMPLATE = "_table.html"

STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = DEBUG

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]


# The database

DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"


def database() -> dict[str, Any]:
    found: dict[str, Any] = dict(
        dj_database_url.config(
            default=f"sqlite:///{DATA_DIR / 'makegood.sqlite3'}",
            conn_max_age=600,
            conn_health_checks=True,
        )
    )
    if found["ENGINE"].endswith("sqlite3"):
        # Django itself turns foreign keys on. A write transaction takes its lock at the start,
        # so that two people saving at once wait for each other and neither fails half-way.
        found["OPTIONS"] = {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
        }
    return found


DATABASES = {"default": database()}


# Words, dates and numbers

LANGUAGE_CODE = "en-gb"
LOCALE_PATHS = [BASE_DIR / "config" / "locale"]
USE_TZ = True
# Whose midnight ends the day on pages that span properties; all else goes by each property's own.
TIME_ZONE = env_time_zone("MAKEGOOD_TIME_ZONE", "UTC")
FORMAT_MODULE_PATH = ["config.formats"]


# Mail

EMAIL_HOST = env_text("MAKEGOOD_EMAIL_HOST")
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'console'}.EmailBackend"
EMAIL_PORT = env_number("MAKEGOOD_EMAIL_PORT", 587)
EMAIL_HOST_USER = env_text("MAKEGOOD_EMAIL_USER")
EMAIL_HOST_PASSWORD = env_text("MAKEGOOD_EMAIL_PASSWORD")
EMAIL_USE_TLS = env_flag("MAKEGOOD_EMAIL_TLS", default=True)
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = env_text("MAKEGOOD_EMAIL_FROM", "makegood@localhost")


# What one request may carry. A photograph over its own limit is refused by the form with a
# sentence; without the larger limit here, the connection would break off with nothing said.

DATA_UPLOAD_MAX_MEMORY_SIZE = 60 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000
FILE_UPLOAD_PERMISSIONS = 0o640


# What is written down while it runs

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env_text("MAKEGOOD_LOG_LEVEL", "INFO")},
    # These tell every step of every document.
    "loggers": {name: {"level": "WARNING"} for name in ("weasyprint", "fontTools")},
}

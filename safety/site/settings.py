"""Every setting of the site, read from the environment; safe when nothing is set."""

import os
import tomllib
from datetime import timedelta
from pathlib import Path

import dj_database_url
from django.core.exceptions import ImproperlyConfigured
from django.utils.functional import lazy

from safety.site.secret import secret_key


def text(name: str, default: str) -> str:
    """Return the variable ``name``, or the default if it is absent or blank."""
    return os.environ.get(name, "").strip() or default


def whole(name: str, default: int) -> int:
    """Return the variable ``name`` as a whole number above zero."""
    written = text(name, str(default))
    if not written.isdecimal() or int(written) == 0:
        raise ImproperlyConfigured(
            f"{name}={written!r} is not a whole number above zero. "
            f"Write for example {name}={default}, or leave it out."
        )
    return int(written)


def switch(name: str) -> bool:
    """Return whether the variable ``name`` is on; it is off when absent."""
    written = text(name, "0")
    if written not in {"0", "1"}:
        raise ImproperlyConfigured(
            f"{name}={written!r} is neither 0 nor 1. Write {name}=1 for on, 0 for off."
        )
    return written == "1"


# ------------------------------------------------------------ places

CHECKOUT = Path(__file__).resolve().parents[2]
BRINEWRIGHT_HOME = Path(text("BRINEWRIGHT_HOME", str(CHECKOUT / "var"))).expanduser()
BRINEWRIGHT_MAX_UPLOAD_MB = whole("BRINEWRIGHT_MAX_UPLOAD_MB", 25)
BRINEWRIGHT_BACKUP_DAYS = whole("BRINEWRIGHT_BACKUP_DAYS", 7)  # own figure
PROJECT = tomllib.loads((CHECKOUT / "pyproject.toml").read_text("utf-8"))["project"]
BRINEWRIGHT_VERSION = PROJECT["version"]

# ------------------------------------------------------------ safe by default

DEBUG = switch("BRINEWRIGHT_DEBUG")
SECRET_KEY = lazy(secret_key, str)(BRINEWRIGHT_HOME)  # judging a file needs none
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"]  # start --host adds its own
ALLOWED_HOSTS += text("BRINEWRIGHT_HOSTS", "").replace(",", " ").split()

BRINEWRIGHT_HTTPS = switch("BRINEWRIGHT_HTTPS")  # a proxy on this machine speaks https
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = BRINEWRIGHT_HTTPS
SESSION_COOKIE_AGE = (
    30 * 24 * 60 * 60
)  # s from the last day of use (batches.middleware)
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 2**20  # bytes of typed fields; files stream

# ------------------------------------------------------------ what the site is made of

INSTALLED_APPS = [
    "safety.site.apps.SiteConfig",
    "batches.apps.BatchesConfig",
    "reports.apps.ReportsConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_static",
    "django_otp.plugins.otp_totp",
    "crispy_forms",
    "crispy_bootstrap5",
    "django_htmx",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "safety.site.headers.ContentSecurityPolicy",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "batches.middleware.MemberMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "safety.site.urls"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [CHECKOUT / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]
CRISPY_ALLOWED_TEMPLATE_PACKS = CRISPY_TEMPLATE_PACK = "bootstrap5"

# ------------------------------------------------------------ where records live

SQLITE = {
    "ENGINE": "django.db.backends.sqlite3",
    "NAME": str(BRINEWRIGHT_HOME / "brinewright.sqlite3"),
    "OPTIONS": {
        "timeout": 20,  # s that a writer waits for another
        "transaction_mode": "IMMEDIATE",
        # without recursive_triggers, REPLACE INTO would edit what is recorded
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;"
        "PRAGMA foreign_keys=ON; PRAGMA recursive_triggers=ON;",
    },
}
DATABASE_URL = text("DATABASE_URL", "")
DATABASES = {"default": dj_database_url.parse(DATABASE_URL) if DATABASE_URL else SQLITE}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
MEDIA_ROOT = BRINEWRIGHT_HOME / "files"

# ------------------------------------------------------------ people, pages, words

LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "sign-in"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",  # only counts and refuses
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}Validator"}
    for name in ("MinimumLength", "CommonPassword")
]
CSRF_FAILURE_VIEW = "batches.views.carrying.csrf_failure"
AXES_FAILURE_LIMIT = 5  # own figure: wrong passwords of one name from one address
AXES_COOLOFF_TIME = timedelta(minutes=15)  # own figure
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]  # never a whole house by address
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_CLIENT_IP_CALLABLE = "safety.site.addresses.client_address"
AXES_LOCKOUT_CALLABLE = "batches.views.entering.locked_out"
AXES_DISABLE_ACCESS_LOG = True
AXES_SENSITIVE_PARAMETERS = ["username", "ip_address", "carried"]  # kept masked
AXES_ENABLE_ADMIN = False
OTP_TOTP_ISSUER = "Brinewright"
USE_I18N = False
TIME_ZONE = "UTC"  # pages show the wall time of the premises
USE_TZ = True
STATIC_URL = "/static/"
STATICFILES_DIRS = [CHECKOUT / "safety" / "site" / "static"]
WHITENOISE_USE_FINDERS = True  # served from where they are: nothing to collect
WHITENOISE_MAX_AGE = 600  # s
WHITENOISE_ALLOW_ALL_ORIGINS = False
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"terminal": {"class": "logging.StreamHandler", "level": "WARNING"}},
    "root": {"handlers": ["terminal"]},
    "loggers": {
        "django.request": {"level": "ERROR"},
        "axes": {"level": "ERROR"},  # a wrong password is told to whoever typed it
        "django.security.DisallowedHost": {"level": "CRITICAL"},  # scanners knock
        "waitress.queue": {"level": "ERROR"},  # a page asks for several files at once
    },
}

"""Settings: the environment first, safe defaults otherwise.

Every name read from the environment starts with STANCEWRIGHT_. Without DEBUG a secret key must
be given, or the site refuses to start.
"""

import os
import sys
from pathlib import Path

import dj_database_url
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent


def _flag(name: str, default: bool = False) -> bool:
    return os.environ.get(name, str(default)).strip().lower() in {"1", "true", "yes", "on"}


def _words(name: str, default: str = "") -> list[str]:
    return [word for word in os.environ.get(name, default).replace(",", " ").split() if word]


TESTING = "pytest" in sys.modules or _flag("STANCEWRIGHT_TESTING")
DEBUG = _flag("STANCEWRIGHT_DEBUG")
DATA_DIR = Path(os.environ.get("STANCEWRIGHT_DATA", BASE_DIR / ".stancewright"))

DATA_DIR.mkdir(parents=True, exist_ok=True)

# Commands that serve nobody (checks, engines, migrations) may run without a key of their own.
_SERVES = any("gunicorn" in part for part in sys.argv[:1]) or "runserver" in sys.argv
SECRET_KEY = os.environ.get("STANCEWRIGHT_SECRET_KEY", "")
if not SECRET_KEY:
    if _SERVES and not DEBUG:
        raise ImproperlyConfigured(
            "Set STANCEWRIGHT_SECRET_KEY to a long random string before serving anybody (deploy/start.sh makes one)."
        )
    SECRET_KEY = "unsafe-for-commands-and-tests-only"  # noqa: S105

ALLOWED_HOSTS = _words("STANCEWRIGHT_HOSTS", "127.0.0.1 localhost [::1] testserver")
CSRF_TRUSTED_ORIGINS = _words("STANCEWRIGHT_ORIGINS")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "template_partials",
    "django_tasks",
    "django_tasks_db",
    "anatomy.vocabulary",
    "anatomy.claims",
    "anatomy.motion",
    "anatomy.muscles",
    "anatomy.contact",
    "breakdowns.people",
    "breakdowns.work",
    "breakdowns.footage",
    "breakdowns.excerpts",
    "breakdowns.stills",
    "breakdowns.tracks",
    "breakdowns.postures",
    "breakdowns.contacts",
    "breakdowns.scripts",
    "breakdowns.glossary",
    "breakdowns.assembly",
    "breakdowns.publishing",
    "breakdowns.questions",
    "deploy.demonstration",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "breakdowns.people.middleware.ContentSecurityPolicyMiddleware",
]

ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"

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
            "builtins": ["template_partials.templatetags.partials", "breakdowns.footage.templatetags.times"],
        },
    },
]

DATABASES = {
    "default": dj_database_url.parse(
        os.environ.get("STANCEWRIGHT_DATABASE", f"sqlite:///{DATA_DIR / 'stancewright.sqlite3'}"),
        conn_max_age=60,
    )
}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # IMMEDIATE takes the write lock at the start, so that two writers wait instead of failing.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;",
    }
    DATABASES["default"]["CONN_MAX_AGE"] = 0
    # Tests use a file too: a database in memory that threads share has no busy timeout for its tables.
    DATABASES["default"]["TEST"] = {"NAME": DATA_DIR / f"test-{os.getpid()}.sqlite3"}
# An index of ours carries columns along on PostgreSQL; that SQLite leaves them out is as wanted and no news to anybody.
SILENCED_SYSTEM_CHECKS = ["models.W040"]

DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "OPTIONS": {"MAX_ENTRIES": 20000}}
}

TASKS = {
    "default": {
        "BACKEND": "django_tasks_db.DatabaseBackend",
        "QUEUES": ["default", "media"],
    }
}
if TESTING:
    TASKS["default"]["BACKEND"] = "django_tasks.backends.dummy.DummyBackend"
# A lapsed lease is taken over after this many seconds; the holder renews it every third of it.
WORK_LEASE_SECONDS = int(os.environ.get("STANCEWRIGHT_LEASE_SECONDS", "60"))
WORK_ATTEMPTS = 3

AUTH_USER_MODEL = "people.User"
AUTHENTICATION_BACKENDS = ["django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator", "CommonPasswordValidator")
]
if TESTING:
    PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
LOGIN_URL = "people:sign_in"
LOGIN_REDIRECT_URL = "people:home"
SIGN_IN_LINK_HOURS = 24

LANGUAGE_CODE = "en-gb"
TIME_ZONE = os.environ.get("STANCEWRIGHT_TIME_ZONE", "UTC")
USE_I18N = True
USE_TZ = True

STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATIC_ROOT = DATA_DIR / "static"
MEDIA_ROOT = DATA_DIR / "media"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if TESTING or DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
if TESTING or DEBUG:
    WHITENOISE_USE_FINDERS = True
    WHITENOISE_AUTOREFRESH = True

# Folders on the server from which footage may be registered without uploading it.
FOOTAGE_FOLDERS = [
    Path(folder) for folder in os.environ.get("STANCEWRIGHT_FOOTAGE_FOLDERS", "").split(os.pathsep) if folder
]
UPLOAD_CHUNK_BYTES = 4 * 1024 * 1024
UPLOAD_LIMIT_BYTES = int(os.environ.get("STANCEWRIGHT_UPLOAD_LIMIT_BYTES", str(8 * 1024**3)))
SEGMENT_CACHE_BYTES = int(os.environ.get("STANCEWRIGHT_SEGMENT_CACHE_BYTES", str(10 * 1024**3)))
DATA_UPLOAD_MAX_MEMORY_SIZE = 8 * 1024 * 1024

EMAIL_BACKEND = os.environ.get("STANCEWRIGHT_EMAIL_BACKEND", "django.core.mail.backends.console.EmailBackend")
EMAIL_HOST = os.environ.get("STANCEWRIGHT_EMAIL_HOST", "localhost")
EMAIL_PORT = int(os.environ.get("STANCEWRIGHT_EMAIL_PORT", "25"))
EMAIL_HOST_USER = os.environ.get("STANCEWRIGHT_EMAIL_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("STANCEWRIGHT_EMAIL_PASSWORD", "")
EMAIL_USE_TLS = _flag("STANCEWRIGHT_EMAIL_TLS")
EMAIL_USE_SSL = _flag("STANCEWRIGHT_EMAIL_SSL")
EMAIL_TIMEOUT = 10
# How the site is reached from outside: links in letters begin with it. One-click unsubscribing needs https.
SITE_ADDRESS = os.environ.get("STANCEWRIGHT_ADDRESS", "http://127.0.0.1:8000")
DEFAULT_FROM_EMAIL = os.environ.get("STANCEWRIGHT_EMAIL_FROM", "studio@localhost")

SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
if _flag("STANCEWRIGHT_HTTPS"):
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
CONTENT_SECURITY_POLICY = (
    "default-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; script-src 'self'; style-src 'self'; "
    "font-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"stderr": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {"breakdowns": {"level": "INFO"}},
}

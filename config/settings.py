"""One settings file; what differs between machines comes from the environment."""

import logging
import os
from pathlib import Path

import django_stubs_ext
import environ
import plotly

from config.environment import (
    address,
    flag,
    folder,
    one_of,
    refuse_unknown,
    secret_key,
    uncompiled,
    whole_number,
    words,
)
from core.calc.languages import Language
from core.calc.translation import gettext_noop

refuse_unknown()
django_stubs_ext.monkeypatch()  # so that forms.ModelForm[Surface] can be written
env = environ.Env()

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = folder("RAINTHROUGH_DATA_DIR", BASE_DIR / "var")
# What the model's compiler makes is kept with the data: the program's own folder may be read-only, and HOME empty.
os.environ.setdefault("NUMBA_CACHE_DIR", str(DATA_DIR / "compiled"))

DEBUG = flag("RAINTHROUGH_DEBUG", False)
DEMO = flag("RAINTHROUGH_DEMO", False)
DEMO_NOTICE = (
    gettext_noop("Invented demonstration data: the firm, people, places and readings do not exist.")
    if DEMO
    else ""
)
HTTPS = flag("RAINTHROUGH_HTTPS", True)
# https is ended by a proxy, so there is one; without it nobody's word on where a request came from is believed.
PROXIES = whole_number("RAINTHROUGH_PROXIES", 1 if HTTPS else 0)
VIDEO_MOST_MB = whole_number("RAINTHROUGH_VIDEO_MB", 60)
SIGN_UP_OPEN = flag("RAINTHROUGH_SIGN_UP", True)
SECRET_KEY = secret_key(DATA_DIR)
ALLOWED_HOSTS = words("RAINTHROUGH_HOSTS", "localhost,127.0.0.1,[::1]")
# Mails that the clock sends have no request to take it from. A pattern such as .example names no one host.
_HOST = next((host for host in ALLOWED_HOSTS if host[:1] not in (".", "*")), "localhost")
ADDRESS = address("RAINTHROUGH_ADDRESS", f"{'https' if HTTPS else 'http'}://{_HOST}")

INSTALLED_APPS = [
    "core",
    "accounts",
    "qa",
    "maintenance",
    "planning",
    "reporting",
    "fieldwork",
    "exchange",
    "api",
    "operations",
    "demo",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django.forms",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "django_structlog",
    "django_filters",
    "django_tables2",
    "simple_history",
]

MIDDLEWARE = [
    "core.views.request_log.RequestLog",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "core.views.compression.PageCompression",
    "api.views.middleware.ApiMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "core.views.language.LanguageMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "core.views.safety.SafetyMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "allauth.usersessions.middleware.UserSessionsMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "accounts.views.current_organisation.CurrentOrganisationMiddleware",
    "accounts.views.second_factor.SecondFactorMiddleware",
    "core.views.errors.RefusalMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["django.templatetags.i18n", "core.templatetags.days"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "config.context_processors.navigation",
            ],
        },
    },
]

# --- data -----------------------------------------------------------------------------------------
DATABASES = {"default": env.db("DATABASE_URL", default=f"sqlite:///{DATA_DIR / 'rainthrough.sqlite3'}")}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # One writer at a time: take the write lock when a transaction starts, so two requests queue
    # for it instead of failing half-way.
    DATABASES["default"]["OPTIONS"] = {
        "timeout": 20,
        "transaction_mode": "IMMEDIATE",
        # Negative, of KiB: the surfaces and the advice of a large firm stay in memory between two of its pages.
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA cache_size=-16000;",
    }
else:
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
    DATABASES["default"]["OPTIONS"] = uncompiled(DATABASES["default"].get("OPTIONS", {}))
# To open SQLite reads its whole schema, a third of the time of a small page. It is opened anew soon enough to read the
# statistics that every hour brings.
DATABASES["default"]["CONN_MAX_AGE"] = 60
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

REDIS_URL = os.environ.get("REDIS_URL", "")
# Attempts to sign in are counted here, so all processes share it: Redis, or a table of the database.
CACHE_TABLE = "core_cache"
if REDIS_URL:
    CACHES = {"default": {"BACKEND": "core.services.cache.FallbackCache", "LOCATION": REDIS_URL}}
else:
    CACHES = {"default": {"BACKEND": "core.services.cache.TableCache", "LOCATION": CACHE_TABLE}}

# --- background work --------------------------------------------------------------------------------
CELERY_BROKER_URL = REDIS_URL or "memory://localhost/"
CELERY_TASK_ALWAYS_EAGER = not REDIS_URL  # one machine: done in the process that calls, which `serve` chooses
CELERY_TASK_IGNORE_RESULT = True  # state lives in rows, not in a result store
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_TIME_LIMIT = 600
CELERY_BEAT_SCHEDULER = "config.beat:HeedingScheduler"
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA_DIR / "beat-schedule")
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "visibility_timeout": 1800,
    "socket_connect_timeout": 2,
    "socket_timeout": 5,
}

# --- people -----------------------------------------------------------------------------------------
AUTH_USER_MODEL = "accounts.User"
AUTHENTICATION_BACKENDS = [
    "django.contrib.auth.backends.ModelBackend",
    "allauth.account.auth_backends.AuthenticationBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_REDIRECT_URL = "/"
LOGIN_URL = "account_login"
ACCOUNT_ADAPTER = "accounts.views.sign_up_adapter.AccountAdapter"
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*", "password2*"]
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_SIGNUP_FORM_CLASS = "accounts.forms.sign_up.SignUpForm"
ACCOUNT_EMAIL_VERIFICATION = "mandatory" if flag("RAINTHROUGH_VERIFY_EMAIL", False) else "none"
ACCOUNT_EMAIL_SUBJECT_PREFIX = "Rainthrough: "
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_REAUTHENTICATION_REQUIRED = True  # for the address and what else decides who can sign in
MFA_ADAPTER = "accounts.views.sign_up_adapter.SecondFactorAdapter"
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_FORMS = {
    "add_webauthn": "accounts.forms.passkeys.AddPasskeyForm",
    "edit_webauthn": "accounts.forms.passkeys.RenamePasskeyForm",
    "login_webauthn": "accounts.forms.passkeys.PasskeySignInForm",
    "authenticate_webauthn": "accounts.forms.passkeys.PasskeyFactorForm",
    "reauthenticate_webauthn": "accounts.forms.passkeys.PasskeyConfirmForm",
}
MFA_TOTP_ISSUER = "Rainthrough"
MFA_ALLOW_UNVERIFIED_EMAIL = True  # a firm without outgoing mail is to have its second factor too

# --- mail -------------------------------------------------------------------------------------------
vars().update(env.email("RAINTHROUGH_EMAIL_URL", default="consolemail://"))
EMAIL_TIMEOUT = (
    20  # seconds; a server that does not answer holds up neither a page nor the jobs behind a mail
)
DEFAULT_FROM_EMAIL = os.environ.get("RAINTHROUGH_FROM_EMAIL", "rainthrough@localhost")

# --- language, time, numbers --------------------------------------------------------------------------
CARE_FUTURES = 128  # on which ways of caring for a surface are compared; their cost is CPU time of the night

LANGUAGE_CODE = Language.ENGLISH.value
LANGUAGES = Language.choices()
FORMAT_MODULE_PATH = "config.formats"
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = True

# --- static files -------------------------------------------------------------------------------------
STATIC_URL = "/static/"
STATIC_ROOT = BASE_DIR / "staticfiles"
STATICFILES_DIRS = [
    BASE_DIR / "static",
    ("plotly", Path(plotly.__file__).parent / "package_data"),  # its script comes from the package
]
STORAGES = {
    "default": {"BACKEND": "core.services.storage.WholeFileStorage"},
    "staticfiles": {"BACKEND": "core.services.storage.NamedByContents"},
}
MEDIA_ROOT = DATA_DIR / "files"
FILE_UPLOAD_PERMISSIONS = 0o600  # whoever else has an account on the machine reads nobody's photos
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700

DJANGO_TABLES2_TEMPLATE = "parts/_table.html"

# --- safety -------------------------------------------------------------------------------------------
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
# Browsers take a cookie of such a name by https alone, of this very host: no neighbour under the same domain sets it.
_OF_THIS_HOST = "__Host-" if HTTPS else ""
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = f"{_OF_THIS_HOST}sessionid", f"{_OF_THIS_HOST}csrftoken"
SECURE_SSL_REDIRECT = HTTPS
SECURE_REDIRECT_EXEMPT = [r"^(health|live|ready|metrics)/$"]  # asked by a proxy, or on the machine itself
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if PROXIES else None
CSRF_FAILURE_VIEW = "core.views.errors.stale_form"

# --- what it says of itself ---------------------------------------------------------------------------
METRICS_TOKEN = os.environ.get("RAINTHROUGH_METRICS_TOKEN", "")
BACKUP_DIR = os.environ.get("RAINTHROUGH_BACKUP_DIR", "")  # empty: no backup is made by the clock
DISK_FLOOR_MB = whole_number("RAINTHROUGH_DISK_FLOOR_MB", 500)
DJANGO_STRUCTLOG_CELERY_ENABLED = True  # the id of a request goes with the tasks that it starts
DJANGO_STRUCTLOG_IP_LOGGING_ENABLED = False
DJANGO_STRUCTLOG_USER_ID_FIELD = ""
DJANGO_STRUCTLOG_STATUS_START_LOG_LEVEL = DJANGO_STRUCTLOG_CELERY_TASK_START_LOG_LEVEL = logging.DEBUG
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "()": "core.services.log_lines.MaskedLine",
            "as_json": one_of("RAINTHROUGH_LOG_FORMAT", ("plain", "json")) == "json",
        }
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "INFO"},
    "loggers": {
        "celery.app.trace": {"level": "CRITICAL"},  # each task has a line of ours, with its ids
        "django.request": {"level": "CRITICAL"},  # so has each request
    },
}

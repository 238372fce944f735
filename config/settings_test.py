"""Test settings: fast hasher, mail in memory, plain http, static files straight from the sources."""

from config.settings import *  # noqa: F403
from config.settings import DATA_DIR, DATABASES, STORAGES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
SECURE_SSL_REDIRECT = False
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = False
ALLOWED_HOSTS = ["*"]
STORAGES = STORAGES | {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
ACCOUNT_RATE_LIMITS = False

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, not memory: a live server and its test see the same data from their own threads.
    DATA_DIR.mkdir(parents=True, exist_ok=True)
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}
    DATABASES["default"]["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"

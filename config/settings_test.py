"""Test settings: fast hasher, mail in memory, plain http, static files straight from the sources.

Nothing of the shell or the folder the tests are started from reaches them but TEST_DATABASE_URL: the settings of
a server that a developer has loaded would make the tests write to its files, its database and its broker.
"""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

STEERING = ("RAINTHROUGH_", "CELERY_", "GUNICORN_", "WEB_CONCURRENCY", "DATABASE_URL", "REDIS_URL", "PG")
RUN_FOLDER = "TEST_RUN_FOLDER"


def forget_the_shell() -> None:
    """Take every variable that steers the program or its libraries out of the environment, also for children."""
    for name in [name for name in os.environ if name.startswith(STEERING)]:
        del os.environ[name]


def folder_of_this_run() -> str:
    """One folder for a run and all its processes; the first of them makes it and takes it away at its end."""
    if RUN_FOLDER not in os.environ:
        os.environ[RUN_FOLDER] = tempfile.mkdtemp(prefix="rainthrough-tests-")
        atexit.register(shutil.rmtree, os.environ[RUN_FOLDER], ignore_errors=True)
    return os.environ[RUN_FOLDER]


forget_the_shell()
os.environ["RAINTHROUGH_DATA_DIR"] = folder_of_this_run()
os.environ["RAINTHROUGH_SECRET_KEY"] = "everybody may read this one, since only the tests sign with it"
# What the compiler made serves the next run as well: it goes by the sources alone.
os.environ.setdefault("NUMBA_CACHE_DIR", str(Path(__file__).resolve().parent.parent / "var" / "compiled"))
if os.environ.get("TEST_DATABASE_URL"):
    os.environ["DATABASE_URL"] = os.environ["TEST_DATABASE_URL"]

from config.settings import *  # noqa: E402, F403
from config.settings import DATA_DIR, DATABASES, STORAGES  # noqa: E402

forget_the_shell()

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
SECURE_SSL_REDIRECT = False
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = False
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "sessionid", "csrftoken"
ALLOWED_HOSTS = ["*"]
STORAGES = STORAGES | {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
ACCOUNT_RATE_LIMITS = False
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}  # emptied before each test
CARE_FUTURES = 16

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, not memory: a live server and its test see the same data from their own threads.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}
    DATABASES["default"]["OPTIONS"] |= {
        "timeout": 300,  # s; on a loaded machine whoever waits for the write lock waits long
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;",
    }

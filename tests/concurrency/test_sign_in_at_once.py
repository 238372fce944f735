"""Attempts to sign in, at once and from several processes, without Redis: together they have as many as one has."""

import os
import shutil
import subprocess
import sys

import pytest

PROCESSES, ATTEMPTS, ALLOWED = 3, 4, 5
PREPARE = """
import django; django.setup()
from accounts.models import User
User.objects.create_user(email="anna@firm.example", password="a-long-password-1")
"""
TRY = f"""
import sys
import django; django.setup()
from django.conf import settings
settings.ALLOWED_HOSTS.append("testserver")
settings.STORAGES["staticfiles"] = {{"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
from django.test import Client
print("ready", flush=True)
sys.stdin.readline()
wrong = {{"login": "anna@firm.example", "password": "not-the-password"}}
for _ in range({ATTEMPTS}):
    print(Client().post("/sign-in/login/", wrong).content.decode().count("Too many tries that failed"), flush=True)
"""


@pytest.fixture
def environment(tmp_path, migrated_file):
    shutil.copy(migrated_file, tmp_path / "rainthrough.sqlite3")
    ours = {
        "RAINTHROUGH_DATA_DIR": str(tmp_path),
        "RAINTHROUGH_HTTPS": "0",
        "DJANGO_SETTINGS_MODULE": "config.settings",
    }
    inherited = {name: value for name, value in os.environ.items() if name in ("PATH", "HOME", "LANG")}
    return inherited | ours


def started(program, environment):
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    return subprocess.Popen([sys.executable, "-c", program], env=environment, **pipes)


def let_through(environment):
    """How many of all attempts were looked at, when every process begins at the same moment."""
    subprocess.run([sys.executable, "-c", PREPARE], env=environment, check=True)
    processes = [started(TRY, environment) for _ in range(PROCESSES)]
    assert [process.stdout.readline() for process in processes] == ["ready\n"] * PROCESSES
    for process in processes:
        process.stdin.write("go\n")
        process.stdin.flush()
    said = [process.communicate()[0].split() for process in processes]
    assert [len(words) for words in said] == [ATTEMPTS] * PROCESSES
    return sum(words.count("0") for words in said)


def test_the_limit_holds_for_all_processes_together(environment):
    assert let_through(environment) <= ALLOWED

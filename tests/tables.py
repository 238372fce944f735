"""Tables made from the models at once, for servers that tests start: run as `python -m tests.tables`.

tests/test_migrations.py holds that migrations make the same ones, in ten times the time.
"""

import os
import subprocess
import sys
from pathlib import Path

import django
from django.apps import apps
from django.conf import settings
from django.core.management import call_command

ROOT = Path(__file__).resolve().parents[1]


def make_tables(env):
    """Make them in the database of that environment."""
    subprocess.run([sys.executable, "-m", "tests.tables"], cwd=ROOT, env=env, check=True)


def make_tables_here():
    """Make them in the database of this process, and note there that its migrations were run."""
    of_the_program = settings.MIGRATION_MODULES
    settings.MIGRATION_MODULES = {app.label: None for app in apps.get_app_configs()}
    call_command("migrate", verbosity=0, run_syncdb=True)
    settings.MIGRATION_MODULES = of_the_program
    call_command("migrate", verbosity=0, fake=True)


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    django.setup()
    make_tables_here()

"""Brings the catalogues of texts up to date: `manage.py catalogues`."""

from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from core.services.catalogues import bring_up_to_date_all


class Command(BaseCommand):
    help = "Takes new texts of the code into the catalogues, those no longer said out of them, and compiles them."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("apps", nargs="*", help="Only these apps; without any, all.")

    def handle(self, *, apps: list[str], **_: Any) -> None:
        for told in bring_up_to_date_all(settings.BASE_DIR, apps or _ours()):
            self.stdout.write(told)


def _ours() -> list[str]:
    """The apps of this project, by their folders."""
    return sorted(
        app.label
        for app in apps.get_app_configs()
        if app.path.startswith(str(settings.BASE_DIR)) and ".venv" not in app.path
    )

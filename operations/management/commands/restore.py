"""`manage.py restore FILE`: a backup put into the data folder, checked first."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from core.errors import NotAllowedNowError, RainthroughError
from operations.services.backups import ONLY_SQLITE, Manifest, check_backup, restore_backup


class Command(BaseCommand):
    help = "Check a backup and put it into the data folder. Stop the server first."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--check", action="store_true", help="only read it to its end and say whether it is whole"
        )
        parser.add_argument(
            "--replace", action="store_true", help="keep what is in the data folder under another name"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["check"]:
                manifest = check_backup(options["file"].resolve())
            else:
                manifest = self._restore(options["file"].resolve(), options["replace"])
        except RainthroughError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"Whole: {len(manifest.entries)} files of {manifest.made_at}.")
        if not options["check"]:
            self.stdout.write("Restored. Run migrate, then start the server.")

    def _restore(self, archive: Path, replace: bool) -> Manifest:
        if connection.vendor != "sqlite":
            raise NotAllowedNowError(ONLY_SQLITE.format(files=settings.MEDIA_ROOT))
        connection.close()
        database = Path(settings.DATABASES["default"]["NAME"])
        return restore_backup(archive, Path(settings.DATA_DIR), database, replace=replace)

"""`manage.py restore FILE`: a backup put where this server keeps its data, checked before and after."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from core.errors import RainthroughError
from operations.services.backups import check_backup
from operations.services.restores import restore_backup


class Command(BaseCommand):
    help = "Check a backup, put it into an empty database and the data folder, and read it back. Stop the server first."
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
        archive = options["file"].resolve()
        try:
            if options["check"]:
                manifest = check_backup(archive)
            else:
                manifest = restore_backup(archive, replace=options["replace"])
        except RainthroughError as error:
            raise CommandError(str(error)) from error
        of = f"{manifest.rows} rows and {len(manifest.entries)} files of {manifest.made_at}, from {manifest.database}"
        self.stdout.write(f"Whole: {of}.")
        if not options["check"]:
            self.stdout.write("Restored, and read back row by row. Start the server.")

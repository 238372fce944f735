"""`manage.py backup FILE`: everything this machine keeps, in one file, while the server runs."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from core.errors import RainthroughError
from operations.services.backups import make_backup


class Command(BaseCommand):
    help = "Write every row, the signing key and the files people sent to one file, and read it back."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="such as /backups/2026-11-25.tar; never written over")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            manifest = make_backup(options["file"].resolve())
        except RainthroughError as error:
            raise CommandError(str(error)) from error
        size_mb = manifest.size_bytes / 1e6
        self.stdout.write(
            f"{options['file']}: {manifest.rows} rows, {len(manifest.entries)} files, {size_mb:.1f} MB, "
            "written and read back. "
            "It holds people's records and the signing key: keep it on another machine, where few can read it."
        )

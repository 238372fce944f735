"""`manage.py backup_taken`: notes that a backup was made by other programs, such as those of PostgreSQL."""

from typing import Any

from django.core.management.base import BaseCommand

from operations.calc.signs import SignOf
from operations.services import signs


class Command(BaseCommand):
    help = "Note that a backup was made now by another program, so that its age is told; `backup` does it by itself."

    def handle(self, *args: Any, **options: Any) -> None:
        signs.note(SignOf.BACKUP)
        self.stdout.write("Noted.")

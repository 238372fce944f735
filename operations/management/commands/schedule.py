"""`manage.py schedule`: the periodic work, in this process. `serve` starts it by itself."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from operations.services.scheduler import run_schedule
from operations.services.supervisor import stand_beside


class Command(BaseCommand):
    help = (
        "Do the periodic work by the timetable until told to end. `serve` runs it by itself where there is no "
        "REDIS_URL; Celery beat does the same where there is."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--parent", type=int, help="end when this process is gone")

    def handle(self, *args: Any, **options: Any) -> None:
        stand_beside(options["parent"])
        run_schedule(options["parent"])

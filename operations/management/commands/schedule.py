"""`manage.py schedule`: the periodic work, in this process. `serve` starts it by itself."""

import signal
import sys
from types import FrameType
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from operations.services.scheduler import run_schedule
from operations.services.supervisor import give_way


class Command(BaseCommand):
    help = (
        "Do the periodic work by the timetable until told to end. `serve` runs it by itself where there is no "
        "REDIS_URL; Celery beat does the same where there is."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--parent", type=int, help="end when this process is gone")

    def handle(self, *args: Any, **options: Any) -> None:
        # Both end it in the same way: work at hand is put back for somebody else to take at once.
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, _end)
        if options["parent"] is not None:
            give_way()
        run_schedule(options["parent"])


def _end(number: int, frame: FrameType | None) -> None:
    sys.exit(0)

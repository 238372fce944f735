"""`manage.py work`: what people asked for, in this process. `serve` starts it by itself."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from operations.services.supervisor import stand_beside
from operations.services.worker import run_worker


class Command(BaseCommand):
    help = (
        "Do what people asked for until told to end. `serve` runs it by itself where there is no REDIS_URL; "
        "Celery's workers do the same where there is."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--woken-by", type=int, help="file descriptor of a pipe that says when to look")
        parser.add_argument("--parent", type=int, help="end when this process is gone")

    def handle(self, *args: Any, **options: Any) -> None:
        stand_beside(options["parent"])
        run_worker(options["woken_by"], options["parent"])

"""`manage.py serve`: the whole tool on one machine, with its periodic work in a process of its own beside it."""

import os
import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from operations.services.supervisor import Supervisor
from operations.services.web_server import WebServer


class Command(BaseCommand):
    help = (
        "Serve on one machine. Without REDIS_URL the periodic work runs beside the server, in one process however "
        "many workers serve; with it, Celery's worker and beat do that work."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--bind", default="127.0.0.1:8000", help="address and port, such as 0.0.0.0:8000")
        parser.add_argument("--workers", type=int, default=2)
        parser.add_argument(
            "--pages-only", action="store_true", help="no periodic work here: it runs elsewhere"
        )
        parser.add_argument("--parent", type=int, help="end when this process is gone")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["pages_only"] or settings.REDIS_URL:
            WebServer(options["bind"], options["workers"], options["parent"]).run()
        else:
            sys.exit(_supervise(options["bind"], options["workers"]))


def _supervise(bind: str, workers: int) -> int:
    os.environ["PYTHONPATH"] = os.pathsep.join(
        [str(settings.BASE_DIR), *filter(None, [os.environ.get("PYTHONPATH")])]
    )
    django, parent = [sys.executable, "-m", "django"], ["--parent", str(os.getpid())]
    pages = [*django, "serve", "--pages-only", "--bind", bind, "--workers", str(workers), *parent]
    return Supervisor(main=pages, helper=[*django, "schedule", *parent]).run()

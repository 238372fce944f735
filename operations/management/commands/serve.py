"""`manage.py serve`: the whole tool on one machine, with its work in processes of their own beside it."""

import os
import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from core.services import jobs
from operations.services.supervisor import Program, Supervisor
from operations.services.wakes import open_pipe, wake
from operations.services.web_server import WebServer


class Command(BaseCommand):
    help = (
        "Serve on one machine. Without REDIS_URL what people ask for and the periodic work are done beside the "
        "server, by one process each however many workers serve; with it, Celery's worker and beat do that work."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--bind", default="127.0.0.1:8000", help="address and port, such as 0.0.0.0:8000")
        parser.add_argument("--workers", type=int, default=2)
        parser.add_argument(
            "--pages-only", action="store_true", help="nothing beside the server: its work is done elsewhere"
        )
        parser.add_argument(
            "--no-clock", action="store_true", help="no periodic work here: it is done elsewhere"
        )
        parser.add_argument("--wakes", type=int, help="file descriptor of a pipe to whoever does the work")
        parser.add_argument("--parent", type=int, help="end when this process is gone")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["pages_only"] or settings.REDIS_URL:
            if options["wakes"] is not None:
                _leave_work_to(options["wakes"])
            WebServer(options["bind"], options["workers"], options["parent"]).run()
        else:
            sys.exit(_supervise(options["bind"], options["workers"], clock=not options["no_clock"]))


def _leave_work_to(wakes: int) -> None:
    jobs.deliver_by(lambda label, pk: wake(wakes), lambda label: wake(wakes))


def _supervise(bind: str, workers: int, *, clock: bool) -> int:
    os.environ["PYTHONPATH"] = os.pathsep.join(
        [str(settings.BASE_DIR), *filter(None, [os.environ.get("PYTHONPATH")])]
    )
    django, parent = [sys.executable, "-m", "django"], ["--parent", str(os.getpid())]
    pipe = open_pipe()
    pages = [*django, "serve", "--pages-only", "--bind", bind, "--workers", str(workers), *parent]
    helpers = [Program([*django, "work", "--woken-by", str(pipe.woken), *parent], (pipe.woken,))]
    if clock:
        helpers.append(Program([*django, "schedule", *parent]))
    return Supervisor(Program([*pages, "--wakes", str(pipe.wakes)], (pipe.wakes,)), helpers).run()

"""`manage.py serve`: the whole tool on one machine, with its periodic work beside it."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.core.wsgi import get_wsgi_application
from gunicorn.app.base import BaseApplication

from operations.services.scheduler import start_in_background


class Server(BaseApplication):
    """gunicorn, told its options by us instead of by a file."""

    def __init__(self, options: dict[str, Any]) -> None:
        self.options = options
        super().__init__()

    def load_config(self) -> None:
        for name, value in self.options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        return get_wsgi_application()


class Command(BaseCommand):
    help = "Serve on one machine. Without REDIS_URL the nightly work runs in this process too."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--bind", default="127.0.0.1:8000", help="address and port, such as 0.0.0.0:8000")
        parser.add_argument("--workers", type=int, default=2)

    def handle(self, *args: Any, **options: Any) -> None:
        Server(
            {
                "bind": options["bind"],
                "workers": options["workers"],
                "threads": 4,
                "worker_class": "gthread",
                "timeout": 120,
                "accesslog": None,
                "loglevel": "warning",
                # In the parent, so that it runs once however many workers serve.
                "when_ready": lambda _server: None if settings.REDIS_URL else start_in_background(),
            }
        ).run()

"""gunicorn, told its options by us instead of by a file."""

import gc
import os
from typing import Any

import django
from gunicorn.app.base import BaseApplication
from gunicorn.arbiter import Arbiter
from gunicorn.glogging import Logger

from core.views.requests import Wsgi


class WebServer(BaseApplication):
    """Serves pages from this process and its workers; ends when the process `parent` is gone, if one is given."""

    def __init__(self, bind: str, workers: int, parent: int | None = None) -> None:
        self.parent = parent
        self.options = {
            "bind": bind,
            "workers": workers,
            "threads": 4,
            "worker_class": "gthread",
            "timeout": 120,
            "accesslog": None,
            "loglevel": "warning",
            "logger_class": "operations.services.web_server.LinesAsEverywhere",
            # It would be a thread in the process that forks the workers, and a file in somebody's home folder.
            "control_socket_disable": True,
        }
        super().__init__()

    def load_config(self) -> None:
        """Take the options above."""
        for name, value in self.options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        """The application, in each worker."""
        django.setup(set_prefix=False)
        pages = Wsgi()
        gc.collect()
        gc.freeze()  # 300,000 objects that live as long as the worker: to walk through them costs a page's time
        return pages

    def run(self) -> None:
        """Serve until told to end."""
        EndsWithParent(self).run()


class LinesAsEverywhere(Logger):
    """Hands what gunicorn says to the log of the program, which writes it plain or as JSON and masks secrets."""

    def setup(self, cfg: Any) -> None:
        """Called once, before anything is said."""
        super().setup(cfg)
        self.error_log.handlers.clear()
        self.error_log.propagate = True


class EndsWithParent(Arbiter):
    """The process that holds the workers, which else would serve on when its own parent was killed without a word."""

    def manage_workers(self) -> None:
        """Called at every turn of the loop, which StopIteration ends in its usual way."""
        if self.app.parent is not None and os.getppid() != self.app.parent:
            raise StopIteration
        super().manage_workers()

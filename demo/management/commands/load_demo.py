"""`manage.py load_demo`: an invented firm with five years of records."""

import logging
from time import monotonic
from typing import Any

from django.core.management.base import BaseCommand, OutputWrapper

from demo.calc.place import OWNER_PERSON, PASSWORD, PEOPLE
from demo.services.load import demo_exists, load_demo

QUIET_S = 5.0


class Command(BaseCommand):
    help = (
        "Load an invented firm, its sites and five years of records. Does nothing when it is there already."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        if demo_exists():
            self.stdout.write("The demonstration data are already there.")
        else:
            logging.disable(logging.INFO)  # a line for each of hundreds of jobs would hide how to sign in
            try:
                load_demo(say=Patience(self.stdout))
            finally:
                logging.disable(logging.NOTSET)
            self.stdout.write("Loaded an invented firm with five years of records.")
        self.stdout.write("Sign in (all with the password " + PASSWORD + "):")
        for email, name, _ in PEOPLE:
            self.stdout.write(f"  {name:24} {email}")
        self.stdout.write(f"  {OWNER_PERSON[1]:24} {OWNER_PERSON[0]}")


class Patience:
    """Passes words on to whoever waits, but only once some seconds have gone by in silence."""

    def __init__(self, out: OutputWrapper) -> None:
        self.out, self.last = out, monotonic()

    def __call__(self, words: str) -> None:
        """Say it, unless something was said just now."""
        if monotonic() - self.last >= QUIET_S:
            self.out.write(words)
            self.out.flush()
            self.last = monotonic()

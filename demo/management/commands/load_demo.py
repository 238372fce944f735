"""`manage.py load_demo`: an invented firm with five years of records."""

from typing import Any

from django.core.management.base import BaseCommand

from demo.calc.place import OWNER_PERSON, PASSWORD, PEOPLE
from demo.services.load import demo_exists, load_demo


class Command(BaseCommand):
    help = (
        "Load an invented firm, its sites and five years of records. Does nothing when it is there already."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        if demo_exists():
            self.stdout.write("The demonstration data are already there.")
        else:
            load_demo()
            self.stdout.write("Loaded an invented firm with five years of records.")
        self.stdout.write("Sign in (all with the password " + PASSWORD + "):")
        for email, name, _ in PEOPLE:
            self.stdout.write(f"  {name:24} {email}")
        self.stdout.write(f"  {OWNER_PERSON[1]:24} {OWNER_PERSON[0]}")

"""`manage.py remove_firm NAME`: what belongs to a firm, and with --for-good its name, takes it away."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from core.errors import RainthroughError
from operations.services.removal import Removal, find_firm, remove_firm, what_goes

NOT_YET = (
    'Nothing was removed. Take the firm\'s archive first if anybody needs it, then give --for-good "{name}". '
    "It cannot be undone."
)
GONE = "All of it is removed. Backups made before today still hold it: keep or destroy them as your local law asks."


class Command(BaseCommand):
    help = "Count what belongs to a firm; with --for-good, remove its rows, files and the accounts nobody else needs."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("firm", help="its name, or its id")
        parser.add_argument(
            "--for-good", metavar="NAME", default="", help="the firm's name once more, to remove it"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            firm = find_firm(options["firm"])
            name = firm.name
            removal = (
                remove_firm(firm=firm, name=options["for_good"]) if options["for_good"] else what_goes(firm)
            )
        except RainthroughError as error:
            raise CommandError(str(error)) from error
        for line in lines_of(removal):
            self.stdout.write(line)
        self.stdout.write(GONE if options["for_good"] else NOT_YET.format(name=name))


def lines_of(removal: Removal) -> list[str]:
    """What goes, a line each."""
    counted = [f"  {count:>7}  {kind}" for kind, count in removal.rows.items()]
    people = [f"  account {address}" for address in removal.people]
    kept = [f"  kept, since another firm knows it: {address}" for address in removal.people_kept]
    return [f"{removal.firm}:", *counted, f"  {len(removal.files):>7}  files", *people, *kept, *removal.left]

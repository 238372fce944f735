"""What the app above knows of a surface: what its owner bought, and what crews were sent to do.

Forecasts and advice stand on these facts, yet this app must not know of agreements and visits. Planning
registers itself here when it starts; where nobody did, nothing is agreed and nothing is planned.
"""

from collections.abc import Sequence
from typing import Protocol

from django.db.models import QuerySet

from maintenance.calc.actions import AgreedCare
from maintenance.models import CleaningEvent
from qa.models import Surface


class Commitments(Protocol):
    """What an app that plans work answers."""

    def agreed_care(self, surface: Surface) -> AgreedCare:
        """What the owner bought; reads no row where the site's agreement is joined."""
        ...

    def read_with(self, surfaces: QuerySet[Surface]) -> QuerySet[Surface]:
        """Surfaces that bring along what is asked below, so that less is to be read."""
        ...

    def look_up(self, surfaces: Sequence[Surface]) -> None:
        """Read at once what `agreed_care` asks of many surfaces, whose sites are joined."""
        ...

    def match_records(self, surfaces: Sequence[Surface]) -> None:
        """Mark planned work of the surfaces done where its record exists by now."""
        ...

    def follow_correction(self, old: CleaningEvent, new: CleaningEvent) -> None:
        """Have planned work that `old` proved be proved by its correction; inside the caller's transaction."""
        ...


class NoCommitments:
    """Nothing agreed, nothing planned."""

    def agreed_care(self, surface: Surface) -> AgreedCare:
        """Nothing."""
        return AgreedCare()

    def read_with(self, surfaces: QuerySet[Surface]) -> QuerySet[Surface]:
        """As they are."""
        return surfaces

    def look_up(self, surfaces: Sequence[Surface]) -> None:
        """Nothing to read."""

    def match_records(self, surfaces: Sequence[Surface]) -> None:
        """Nothing is planned."""

    def follow_correction(self, old: CleaningEvent, new: CleaningEvent) -> None:
        """Nothing is planned."""


_registered: list[Commitments] = [NoCommitments()]


def register(commitments: Commitments) -> None:
    """Have questions answered by this from now on; called once, when the app above starts."""
    _registered[:] = [commitments]


def commitments() -> Commitments:
    """Whoever answers."""
    return _registered[0]

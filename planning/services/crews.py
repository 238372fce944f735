"""Everything done to crews."""

from django.db import transaction

from accounts.models import User
from core.services.records import save_once
from planning.models import Crew


@transaction.atomic
def save_crew(*, crew: Crew, people: list[User] | None = None) -> Crew:
    """Store a new or changed crew."""
    crew = save_once(crew, organisation=crew.organisation_id)
    if people is not None:
        crew.people.set(people)
    return crew

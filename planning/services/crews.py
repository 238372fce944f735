"""Everything done to crews."""

from django.db import transaction

from accounts.models import User
from core.models.rows import validate_and_save
from planning.models import Crew


@transaction.atomic
def save_crew(*, crew: Crew, people: list[User] | None = None) -> Crew:
    """Store a new or changed crew."""
    validate_and_save(crew)
    if people is not None:
        crew.people.set(people)
    return crew

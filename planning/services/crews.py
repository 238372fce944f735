"""Everything done to crews."""

from django.db import transaction

from accounts.models import User
from core.models.rows import validate_and_save
from core.services.records import save_once
from planning.models import Crew, CrewAbsence, CrewMethod


@transaction.atomic
def save_crew(*, crew: Crew, people: list[User] | None = None) -> Crew:
    """Store a new or changed crew."""
    crew = save_once(crew, organisation=crew.organisation_id)
    if people is not None:
        crew.people.set(people)
    return crew


@transaction.atomic
def save_crew_work(*, crew: Crew, methods: list[CrewMethod]) -> Crew:
    """Store when, from where and with what a crew works. methods: all that it is equipped for, none for everything."""
    crew = save_once(crew, organisation=crew.organisation_id)
    crew.methods.all().delete()
    for row in methods:
        row.crew = crew
        validate_and_save(row)
    return crew


@transaction.atomic
def save_absence(*, absence: CrewAbsence) -> CrewAbsence:
    """Store days on which a crew does not go out."""
    return save_once(absence, crew=absence.crew_id)


@transaction.atomic
def remove_absence(*, absence: CrewAbsence) -> None:
    """The crew goes out on those days after all."""
    absence.delete()

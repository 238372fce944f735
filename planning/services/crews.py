"""Everything done to crews."""

from django.db import transaction

from accounts.models import Organisation, User
from core.models.rows import validate_and_save
from core.services.records import save_once
from maintenance.selectors.care import offered_terms
from maintenance.services.cleanings import terms_of
from planning.models import Crew, CrewAbsence, CrewMethod
from planning.selectors.outputs import Outputs, outputs_of


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


def outputs_now(organisation: Organisation) -> Outputs:
    """What each crew is planned with, by the terms of the firm; terms that are missing are stored from the defaults."""
    return outputs_of(organisation, offered_terms(terms_of(organisation)))

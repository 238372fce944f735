"""Every service that writes more than once: where it fails midway, what was written before is taken back."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from accounts.models import Invitation
from accounts.services import people
from core.calc.secrets import hash_of
from maintenance.calc.actions import Advice
from maintenance.calc.vocabulary import Action
from maintenance.calc.windows import Window
from maintenance.models import CleaningEvent, Recommendation
from maintenance.services import cleanings
from maintenance.services.advice_overnight import Given, give_many
from planning.models import Agreement, Crew
from planning.services import agreements, crews, matching, visits
from qa.models import InfiltrationTest, Layer
from qa.services import build_ups, rounds
from tests.clock import TODAY
from tests.factories import (
    BECAUSE,
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    LayerFactory,
    RoundFactory,
    UserFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.sending import everything_stored

NEXT_WEEK = TODAY + timedelta(days=7)


class MidwayError(Exception):
    """What the tests let happen."""


def advice_for(firm, **changes):
    values = {"action": "clean", "method": "vacuum", "due_on": TODAY, "earliest_on": TODAY, "currency": "EUR"}
    return Recommendation.objects.create(surface=firm.surface, grounds=BECAUSE, **values | changes)


def task_for(firm, **changes):
    row = advice_for(firm, status="planned")
    visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation))
    values = {"action": "clean", "method": "vacuum", "recommendation": row}
    return VisitTaskFactory(visit=visit, surface=firm.surface, **values | changes)


def invitation_for(firm):
    return Invitation.objects.create(
        organisation=firm.organisation,
        email="new@firm.example",
        token_hash=hash_of("secret"),
        invited_by=firm.admin,
        expires_at=now() + timedelta(days=1),
    )


def founding(firm):
    return lambda: people.found_organisation(by=firm.outsider, name="Half a firm", currency="EUR")


def inviting_again(firm):
    old = invitation_for(firm)
    return lambda: people.invite(organisation=firm.organisation, by=firm.admin, email=old.email, role=30)


def accepting(firm):
    person, invitation = UserFactory(email="new@firm.example"), invitation_for(firm)
    return lambda: people.accept_invitation(invitation=invitation, user=person)


def recording_a_cleaning(firm):
    event = CleaningEvent(surface=firm.surface, cleaned_on=TODAY, method="vacuum")
    return lambda: cleanings.record_cleaning(event=event, by=firm.technician)


def correcting_a_cleaning(firm):
    old = CleaningFactory(surface=firm.surface)
    new = CleaningEvent(surface=firm.surface, cleaned_on=TODAY, method="broom")
    return lambda: cleanings.correct_cleaning(
        old=old, new=new, by=firm.technician, reason="It was the broom."
    )


def setting_a_cleaning_aside(firm):
    event = CleaningFactory(surface=firm.surface)
    return lambda: cleanings.void_cleaning(event=event, by=firm.technician, reason="Never done.")


def syncing_advice(firm):
    advice_for(firm, action="look", method="")
    piece = Advice(Action.TEST, Window(TODAY, TODAY), ("Because.",))
    return lambda: give_many([Given(firm.surface, [piece])])


def planning_advice(firm):
    row, crew = advice_for(firm), CrewFactory(organisation=firm.organisation)
    return lambda: visits.plan(recommendation=row, by=firm.coordinator, visit_on=NEXT_WEEK, crew=crew)


def removing_a_task(firm):
    task = task_for(firm)
    return lambda: visits.remove_task(task=task)


def calling_a_visit_off(firm):
    visit = task_for(firm).visit
    return lambda: visits.cancel_visit(visit=visit, reason="Frost.")


def finishing_a_task(firm):
    task = task_for(firm)
    return lambda: visits.finish_task(task=task, finding="Clean already.")


def saving_a_crew(firm):
    crew = Crew(organisation=firm.organisation, name="Half a crew")
    return lambda: crews.save_crew(crew=crew, people=[firm.technician])


def saving_an_agreement(firm):
    agreement = Agreement(site=firm.site, tests_per_year=1, cleanings_per_year=0)
    return lambda: agreements.save_agreement(agreement=agreement)


def matching_two_tasks(firm):
    for action in ("test", "clean"):
        task = task_for(
            firm, action=action, recommendation=None, method="vacuum" if action == "clean" else ""
        )
        type(task.visit).objects.filter(pk=task.visit.pk).update(visit_on=TODAY)
    CleaningFactory(surface=firm.surface, cleaned_on=TODAY)
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=TODAY))
    return lambda: matching.match_records_to_tasks(surface=firm.surface)


def recording_a_test(firm):
    old = InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    readings = ("prewet_mass", "prewet_time_s", "start_delay_s", "test_mass", "ring_diameter", "elapsed_s")
    test = InfiltrationTest(round=old.round, spot="B", **{name: getattr(old, name) for name in readings})
    return lambda: rounds.record_test(test=test, by=firm.technician)


def setting_a_test_aside(firm):
    test = InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    return lambda: rounds.void_test(test=test, by=firm.technician, reason="The seal leaked.")


def amending_a_round(firm):
    round_ = RoundFactory(surface=firm.surface)
    round_.purpose = "complaint"
    return lambda: rounds.amend_round(round_=round_, reason="Somebody complained.")


def setting_a_round_aside(firm):
    round_ = InfiltrationTestFactory(round=RoundFactory(surface=firm.surface)).round
    return lambda: rounds.void_round(round_=round_, by=firm.technician, reason="The wrong yard.")


def keeping_a_build_up(firm):
    base = Layer(kind="base", material="Crushed stone", thickness_mm=300.0, porosity=0.4)
    return lambda: build_ups.save_and_keep(surface=firm.surface, layers=[base], removed=[], keep_as="Yard")


def adding_a_surface_like_another(firm):
    LayerFactory(surface=firm.surface)
    made = build_ups.start_like(source=firm.surface, site=firm.site)
    made.name, made.opened_on, made.limit_preset = "Half a surface", TODAY, "ontario"
    return lambda: build_ups.save_surface_like(surface=made, like=firm.surface)


# What is done, and the last of its steps, at which it fails.
CASES = [
    (founding, "accounts.services.people.Membership"),
    (inviting_again, "accounts.services.people.validate_and_save"),
    (accepting, "accounts.models.Invitation.save"),
    (recording_a_cleaning, "maintenance.services.cleanings.bump_record_version"),
    (correcting_a_cleaning, "maintenance.services.cleanings.commitments"),
    (correcting_a_cleaning, "maintenance.services.cleanings.bump_record_version"),
    (setting_a_cleaning_aside, "maintenance.services.cleanings.bump_record_version"),
    (syncing_advice, "maintenance.services.recommendations._write"),
    (planning_advice, "planning.services.visits.VisitTask"),
    (planning_advice, "maintenance.services.recommendations.mark_planned"),
    (removing_a_task, "maintenance.services.recommendations.drop_planned"),
    (removing_a_task, "planning.services.visits.bump_record_version"),
    (calling_a_visit_off, "maintenance.services.recommendations.drop_planned"),
    (calling_a_visit_off, "planning.services.visits.bump_record_version"),
    (finishing_a_task, "maintenance.services.recommendations.mark_done"),
    (finishing_a_task, "planning.services.visits.end_if_all_ended"),
    (saving_an_agreement, "planning.services.agreements.bump_record_version"),
    (recording_a_test, "qa.services.rounds.bump_record_version"),
    (setting_a_test_aside, "qa.services.rounds.bump_record_version"),
    (amending_a_round, "qa.services.rounds.bump_record_version"),
    (setting_a_round_aside, "qa.services.rounds.bump_record_version"),
    (keeping_a_build_up, "qa.services.build_ups.keep_build_up"),
    (adding_a_surface_like_another, "qa.services.build_ups.copy_build_up"),
    (adding_a_surface_like_another, "qa.services.build_ups.bump_record_version"),
]


def fail(*args, **kwargs):
    raise MidwayError


@pytest.mark.parametrize(("begin", "step"), CASES)
def test_what_fails_midway_leaves_nothing(firm, monkeypatch, begin, step):
    act = begin(firm)
    before = everything_stored()
    monkeypatch.setattr(step, fail)

    with pytest.raises(MidwayError):
        act()

    assert everything_stored() == before


@pytest.mark.parametrize("begin", list(dict.fromkeys(begin for begin, _ in CASES)))
def test_the_same_without_a_fault_stores_something(firm, begin):
    """The control for the test above."""
    act = begin(firm)
    before = everything_stored()

    act()

    assert everything_stored() != before


def test_a_second_task_that_cannot_be_settled_leaves_the_first_open(firm, monkeypatch):
    act, finish, done = matching_two_tasks(firm), matching.finish_task, []
    before = everything_stored()

    def fails_at_the_second(**fields):
        if done:
            raise MidwayError
        done.append(finish(**fields))

    monkeypatch.setattr(matching, "finish_task", fails_at_the_second)

    with pytest.raises(MidwayError):
        act()

    assert done
    assert everything_stored() == before


def test_a_crew_whose_people_cannot_be_stored_is_not_stored(firm):
    act = saving_a_crew(firm)
    firm.technician.pk = None  # nobody that the database knows

    with pytest.raises((ValueError, TypeError)):
        act()

    assert not Crew.objects.exists()

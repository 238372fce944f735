"""What the owner is left with: the plan for winter and spills, and who was trained, from the form to the handover."""

from datetime import timedelta

import pytest
from django.urls import reverse

from accounts.calc.audience import Audience
from core.calc.format import day
from maintenance.calc.site_plans import STARTING_TEXTS
from maintenance.models import SitePlan, Training
from reporting.selectors.handovers import handover_snapshot
from tests.factories import SitePlanFactory, TrainingFactory
from tests.pages import as_shown
from tests.reporting.papers import paper_of, words_of

PLAN = {**STARTING_TEXTS, "snow_stored": "On the lawn by the east gate.", "spill_calls": "Caretaker 555 0100"}
TYPED = {
    "trained_on": "2024-07-02",
    "trained_by": "Tom Trainer",
    "people": "Carla Caretaker, caretaker\n\n Gus Gardener ,gardener, evenings ",
    "topics": ["winter", "spills"],
    "other": "The gate",
}


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


def plan_url(firm):
    return reverse("maintenance:site-plan-edit", args=[firm.site.pk])


def training_url(firm):
    return reverse("maintenance:training-create", args=[firm.site.pk])


# ---- The plan ------------------------------------------------------------------------------------


def test_a_new_plan_begins_with_texts_that_somebody_must_store(office, firm):
    page = office.get(plan_url(firm))

    assert page.context["form"]["spread"].value() == STARTING_TEXTS["spread"]
    assert "call the local emergency number first" in page.content.decode()
    assert not SitePlan.objects.exists()


def test_who_is_called_has_no_text_to_begin_with(office, firm):
    answer = office.post(plan_url(firm), PLAN | {"spill_calls": ""})

    assert answer.context["form"].errors["spill_calls"] == ["This field is required."]
    assert answer.context["form"]["snow_stored"].value() == "On the lawn by the east gate."


def test_a_stored_plan_stands_in_the_handover_of_each_surface_and_on_paper(office, firm, tmp_path):
    office.post(plan_url(firm), PLAN)

    page = as_shown(office.get(reverse("reporting:handover-show", args=[firm.surface.pk])).content.decode())
    paper = words_of(paper_of(firm.surface), tmp_path)

    for said in (
        "On the lawn by the east gate.",
        "Caretaker 555 0100",
        "Winter and snow storage",
        "Spill response",
    ):
        assert said in page
        assert said in paper
    assert "Source: Common practice" in paper


def test_a_plan_names_the_document_behind_it(office, firm):
    office.post(plan_url(firm), PLAN | {"winter_source": "Winter guide of the town, 2025"})

    plans = handover_snapshot(firm.surface, Audience.LINK).plan.plans
    assert [plan.source for plan in plans] == ["Winter guide of the town, 2025", "Common practice"]


def test_a_change_keeps_the_one_plan_of_the_site_and_its_history(office, firm):
    office.post(plan_url(firm), PLAN)

    office.post(plan_url(firm), PLAN | {"clearing": "Rubber edge alone."})

    plan = SitePlan.objects.get()
    assert (plan.clearing, plan.history.count()) == ("Rubber edge alone.", 2)


def test_a_plan_begins_as_it_was_stored(office, firm):
    SitePlanFactory(site=firm.site, spread="Nothing at all.")

    assert office.get(plan_url(firm)).context["form"]["spread"].value() == "Nothing at all."


def test_without_a_plan_the_handover_says_so(firm, tmp_path):
    assert handover_snapshot(firm.surface, Audience.OWNER).plan is None
    assert "This record holds no winter and spill plan." in words_of(paper_of(firm.surface), tmp_path)


# ---- Training ------------------------------------------------------------------------------------


def test_a_training_names_each_person_with_a_role(office, firm):
    answer = office.post(training_url(firm), TYPED)

    training = Training.objects.get()
    assert answer.url == training.get_absolute_url()
    assert [(one.name, one.role) for one in training.facts.people] == [
        ("Carla Caretaker", "caretaker"),
        ("Gus Gardener", "gardener, evenings"),
    ]
    assert training.facts.covered[-1] == "The gate"
    assert len(training.facts.covered) == 3


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        (
            {"people": "Carla Caretaker"},
            "people",
            "Carla Caretaker: give a name and a role with a comma between",
        ),
        ({"people": " \n "}, "people", "This field is required."),
        ({"people": "x" * 200 + ", y"}, "people", "at most 160 characters"),
        ({"topics": [], "other": " "}, "topics", "Tick what was covered"),
        ({"topics": ["juggling"]}, "topics", "juggling is not one of the available choices"),
        ({"trained_on": "2999-01-01"}, "trained_on", f"{day('2999-01-01')} is in the future at the site"),
    ],
)
def test_what_is_missing_is_said_beside_its_field(office, firm, typed, field, said):
    answer = office.post(training_url(firm), TYPED | typed)

    assert said in answer.context["form"].errors[field][0]
    assert answer.context["form"]["trained_by"].value() == "Tom Trainer"
    assert not Training.objects.exists()


def test_a_training_stands_in_the_handover_with_a_place_to_sign(firm, tmp_path):
    TrainingFactory(site=firm.site)

    paper = words_of(paper_of(firm.surface), tmp_path)

    assert "Training of 1\u00a0Mar\u00a02024".replace("\u00a0", " ") in paper.replace("\u00a0", " ")
    assert "Name Role Signature Carla Caretaker caretaker" in paper


def test_names_of_who_was_trained_are_for_the_firm_and_the_owner(firm):
    TrainingFactory(site=firm.site)

    told = {audience: handover_snapshot(firm.surface, audience).trainings[0] for audience in Audience}

    assert [len(told[one].people) for one in (Audience.FIRM, Audience.OWNER, Audience.LINK)] == [1, 1, 0]
    assert (told[Audience.LINK].by, told[Audience.LINK].count) == ("", 1)


def test_a_correction_takes_the_place_of_the_training(office, firm):
    old = TrainingFactory(site=firm.site)
    place = reverse("maintenance:training-correct", args=[old.pk])
    shown = office.get(place).context["form"]

    office.post(place, TYPED | {"people": "Carla Caretaker, head caretaker", "reason": "New role."})

    old.refresh_from_db()
    assert shown["people"].value() == "Carla Caretaker, caretaker"
    assert (old.state, old.state_reason) == ("replaced", "New role.")
    (told,) = handover_snapshot(firm.surface, Audience.OWNER).trainings
    assert told.people[0].role == "head caretaker"


def test_a_training_set_aside_is_in_no_handover(office, firm):
    training = TrainingFactory(site=firm.site)

    office.post(reverse("maintenance:training-void", args=[training.pk]), {"reason": "Another site."})

    assert handover_snapshot(firm.surface, Audience.FIRM).trainings == ()
    assert "Another site." in office.get(training.get_absolute_url()).content.decode()


def test_trainings_stand_newest_first(firm):
    first = TrainingFactory(site=firm.site)
    last = TrainingFactory(site=firm.site, trained_on=first.trained_on + timedelta(days=9))

    assert [one.key for one in handover_snapshot(firm.surface, Audience.FIRM).trainings] == [
        last.pk,
        first.pk,
    ]

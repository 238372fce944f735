"""Hostile input to every route, by a fixed seed: no server error, and nothing half saved.

`make fuzz TRIES=20000 SEED=1` is the long run, of every route. Here is a share of it that fits into every run: of all
that takes a body of JSON, and of a choice of the other routes, the same each time.
"""

import os
import sys
from random import Random

import pytest

from core.errors import NotAllowedNowError
from core.services import jobs
from core.tasks import deliver
from maintenance.models import CleaningEvent
from maintenance.services import cleanings
from tests.security.judging import run
from tests.security.targets import every_target

TRIES, SEED = int(os.environ.get("FUZZ_TRIES", "300")), int(os.environ.get("FUZZ_SEED", "20261127"))
IS_LONG = "FUZZ_TRIES" in os.environ
MOST_CPU_S = None if IS_LONG else 40.0
ROUTES = 120  # of some 360
CLEANING = "maintenance:cleaning-create"


@pytest.fixture
def firm(furnished):
    return furnished


@pytest.fixture(autouse=True)
def _worked_on_at_once(monkeypatch):
    """Sheets and archives that are sent are read within the try, on its connection."""
    monkeypatch.setattr(jobs, "_deliver_beside", [deliver])


def test_hostile_input_is_no_server_error_and_leaves_nothing_half_saved(firm, capsys):
    targets = every_target(firm) if IS_LONG else a_share_of(every_target(firm))
    tally = run(targets, tries_wanted=TRIES, seed=SEED, until_cpu_s=MOST_CPU_S)

    said = "\n".join(tally.report())
    if IS_LONG:
        with capsys.disabled():
            sys.stdout.write(f"\n{said}\n")
    assert not tally.faults, said


def a_share_of(targets):
    """As many as fit into every run, in their order."""
    bodies = [target for target in targets if target.body is not None]
    others = [target for target in targets if target.body is None]
    drawn = Random(SEED).sample(range(len(others)), ROUTES - len(bodies))
    return bodies + [others[number] for number in sorted(drawn)]


def at_a_form(firm):
    """The tries of one form, as many as its place in the run would get."""
    targets = [target for target in every_target(firm) if target.route == CLEANING]
    return run(targets, tries_wanted=12, seed=SEED)


def test_the_tries_of_a_form_are_refused_and_stored_both(firm):
    """The control: tries that never get past a form would find nothing behind it."""
    tally = at_a_form(firm)

    assert not tally.faults
    assert 0 < tally.stored[CLEANING] < 12


def test_a_service_that_breaks_is_found(firm, monkeypatch):
    monkeypatch.setattr(cleanings, "record_cleaning", lambda **_: {}["nothing"])

    tally = at_a_form(firm)

    assert any(place.startswith("KeyError") for place in tally.faults)


def test_what_is_stored_and_then_refused_is_found(firm, monkeypatch):
    def half(*, event, by):
        event.save()
        raise NotAllowedNowError("Not now.")

    monkeypatch.setattr(cleanings, "record_cleaning", half)

    tally = at_a_form(firm)

    assert any("and yet stored" in place and "maintenance_cleaningevent" in place for place in tally.faults)


def test_a_row_that_its_columns_would_not_take_is_found(firm, monkeypatch):
    def unchecked(*, event, by):
        event.method = "leaf_burning"
        CleaningEvent.objects.bulk_create([event])
        return event

    monkeypatch.setattr(cleanings, "record_cleaning", unchecked)

    tally = at_a_form(firm)

    assert any("half a row" in place and "method" in place for place in tally.faults)

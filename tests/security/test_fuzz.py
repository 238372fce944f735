"""Hostile input to every form, file, address and operation of the API: no server error, nothing half stored.

In the ordinary suite it is boxed in tries and in seconds of processor time; `make fuzz` tries 20,000. Both draw by a
fixed seed: what fails is printed as a `Try`, which goes into AGAIN to be repeated by itself.
"""

import os
import sys
from random import Random
from time import process_time

import pytest
from django.core.exceptions import ValidationError
from hypothesis import HealthCheck, Phase, given, seed, settings

from core.calc.secrets import hash_of
from qa.models import Site
from tests.factories import ApiTokenFactory
from tests.security.fuzz import API, PAGES, Try, Walker, drawn, for_route

pytestmark = pytest.mark.django_db
TRIES = int(os.environ.get("FUZZ_TRIES", "1500"))
SEED = int(os.environ.get("FUZZ_SEED", "1"))
MOST_CPU_S = float(os.environ.get("FUZZ_SECONDS", "30"))
LEAST_TRIES = 100  # on the slowest machine; a box that held nothing would find nothing
SECRET = "rain_a-secret-of-the-fuzzer"
SOME = settings(
    database=None, phases=[Phase.generate], deadline=None, suppress_health_check=list(HealthCheck)
)  # what is drawn is kept as it is, since it can be repeated

# Tries that failed once.
AGAIN: list[Try] = [Try("qa:site-edit", "admin", "post", {}, {"name": "\ud800"}, (), None)]


@pytest.fixture
def walker(furnished):
    firm = furnished
    ApiTokenFactory(organisation=firm.organisation, person=firm.admin, token_hash=hash_of(SECRET))
    return Walker(firm, SECRET)


def walk(walker, count, routes, most_cpu_s=MOST_CPU_S):
    """Every kind of fault that so many tries find, each with the first try that found it, and the routes tried."""
    faults, made, end = {}, [], process_time() + most_cpu_s
    order = Random(SEED).sample(routes, len(routes))

    @seed(SEED)
    @settings(SOME, max_examples=count)
    @given(drawn())
    def each(what):
        if process_time() > end:
            return
        one = for_route(what, order[len(made) % len(order)])
        made.append(one.route)
        if said := walker.fault_of(one):
            faults.setdefault(said, one)

    each()
    return faults, made


def told(faults):
    return "\n".join(f"{said}\n    {one!r}" for said, one in faults.items())


def test_whatever_is_sent_is_answered_and_nothing_is_half_stored(walker, capsys):
    faults, made = walk(walker, TRIES, PAGES + API)

    with capsys.disabled():
        sys.stdout.write(f" {len(made)} tries on {len(set(made))} routes by seed {SEED} ")
    assert len(made) >= min(TRIES, LEAST_TRIES)
    assert not faults, f"Put each Try into AGAIN to repeat it:\n{told(faults)}"


@pytest.mark.parametrize("one", AGAIN, ids=lambda one: one.route)
def test_what_failed_once_does_not_fail_again(walker, one):
    assert walker.fault_of(one) == ""


def test_a_fault_that_is_put_in_is_found_and_told_with_its_try(walker, monkeypatch):
    def broken(*args, **kwargs):
        raise ZeroDivisionError("put in")

    monkeypatch.setattr("reporting.views.search.found", broken)

    faults, _ = walk(walker, 60, ["reporting:search-show", "glossary"])

    assert "ZeroDivisionError: put in" in told(faults)
    assert "Try(route='reporting:search-show'" in told(faults)


def test_a_row_that_a_refused_form_leaves_behind_is_found(walker, firm, monkeypatch):
    def half(**kwargs):
        Site.objects.filter(pk=walker.firm.site.pk).update(address="Half stored")
        raise ValidationError("Not like this.")

    monkeypatch.setattr("qa.views.sites.register.save_site", half)

    faults, _ = walk(walker, 60, ["qa:site-edit"])

    assert "stored something" in told(faults)

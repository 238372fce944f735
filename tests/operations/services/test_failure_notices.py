"""Telling admins of failures: a kind of work once a day for each firm, and nothing that mends itself."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from accounts.models import Notice
from maintenance.models import Forecast
from operations.calc.job_kinds import KINDS
from operations.services.failure_notices import tell_failures
from tests.operations.jobs import give_state, one_of_each


@pytest.fixture
def made(firm):
    return one_of_each(firm)


def test_each_kind_that_failed_is_told_once_and_leads_to_its_list(firm, made, client):
    give_state(made, "failed", error="It broke.")
    Forecast.objects.update(error=Forecast.GIVEN_UP)

    tell_failures(now())
    tell_failures(now())

    told = Notice.objects.all()
    assert {notice.user for notice in told} == {firm.admin}
    assert {notice.path.rpartition("=")[2] for notice in told} == {kind.key for kind in KINDS}
    assert told.count() == len(KINDS)
    client.force_login(firm.admin)
    assert all(client.get(notice.path).status_code == 200 for notice in told)


@pytest.mark.parametrize("state", ["waiting", "running", "done"])
def test_what_did_not_fail_is_not_told(firm, made, state):
    give_state(made, state)

    assert tell_failures(now()) == 0


def test_what_failed_long_ago_is_not_told(firm, made):
    give_state(made, "failed")

    assert tell_failures(now() + timedelta(days=2)) == 0


def test_a_record_that_refuses_is_told_on_its_page_and_not_here(firm, made):
    give_state(made, "failed", error="The surface was opened after its first test.")
    Forecast.objects.exclude(pk=made["forecast"].pk).delete()

    tell_failures(now())

    assert not Notice.objects.filter(path__endswith="=forecast").exists()


def test_without_a_failure_it_costs_one_query_a_kind(firm, made, django_assert_num_queries):
    with django_assert_num_queries(len(KINDS)):
        tell_failures(now())

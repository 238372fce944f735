"""The steps with their words, for each role."""

import pytest

from accounts.calc.roles import Role
from reporting.calc.first_steps import Progress, StepKey
from reporting.presentation.first_steps import steps

KEY = "0b8a9c1e-0000-4000-8000-000000000001"


def by_key(progress, role=Role.ADMIN):
    return {step.key: step for step in steps(progress, role)}


def test_at_first_only_the_owner_can_be_added():
    shown = by_key(Progress(frozenset()))

    assert {key for key, step in shown.items() if step.url} == {StepKey.OWNER, StepKey.PRICES, StepKey.PEOPLE}
    assert [key for key, step in shown.items() if step.is_next] == [StepKey.OWNER]
    assert all(step.why for step in shown.values())


def test_what_is_done_leads_nowhere_and_what_rests_on_it_opens():
    shown = by_key(Progress(frozenset({StepKey.OWNER, StepKey.SITE}), owner=KEY, site=KEY))

    assert shown[StepKey.OWNER].is_done
    assert not shown[StepKey.OWNER].url
    assert KEY in shown[StepKey.SURFACE].url
    assert not shown[StepKey.TEST].url


def test_the_forecast_is_shown_once_there_is_a_test():
    done = frozenset({StepKey.OWNER, StepKey.SITE, StepKey.SURFACE})
    assert not by_key(Progress(done, KEY, KEY, KEY))[StepKey.FORECAST].url
    assert by_key(Progress(done | {StepKey.TEST}, KEY, KEY, KEY))[StepKey.FORECAST].url


@pytest.mark.parametrize(
    ("role", "open_to"),
    [
        (Role.VIEWER, set()),
        (Role.TECHNICIAN, {StepKey.TEST}),
        (Role.COORDINATOR, {StepKey.BUILD_UP, StepKey.TEST, StepKey.PRICES}),
        (Role.ADMIN, {StepKey.BUILD_UP, StepKey.TEST, StepKey.PRICES, StepKey.PEOPLE}),
    ],
)
def test_nobody_is_offered_what_their_role_does_not_allow(role, open_to):
    done = frozenset({StepKey.OWNER, StepKey.SITE, StepKey.SURFACE})

    shown = by_key(Progress(done, KEY, KEY, KEY), role)

    assert {key for key, step in shown.items() if step.url} == open_to

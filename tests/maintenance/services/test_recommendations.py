"""Advice kept in step with the forecast, and with what people decided."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from core.calc.paving import CleaningMethod
from maintenance.calc.actions import Advice, Option
from maintenance.calc.vocabulary import Action
from maintenance.calc.windows import Window
from maintenance.models import Recommendation
from maintenance.services import recommendations
from qa.models import InfiltrationTest
from qa.services.changes import bump_record_version
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    RoundFactory,
    SurfaceFactory,
    UserFactory,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
VACUUM = Option(CleaningMethod.VACUUM, 900.0, 2.5, 0.9, Decimal("450.00"), Decimal("180.00"))


def piece(action="test", due=TODAY, option=None, reason="Because."):
    return Advice(Action(action), Window(TODAY, due), (reason,), option)


def keep(surface, *pieces):
    surface.refresh_from_db()
    recommendations.sync_recommendations(surface=surface, advice=pieces)
    return {(row.action, row.status) for row in surface.recommendations.all()}


def open_row(surface):
    return surface.recommendations.get(status="open")


def test_new_advice_is_opened_with_its_reasons_and_figures():
    surface = SurfaceFactory(site__owner__organisation__currency="CHF")

    keep(surface, piece("clean", option=VACUUM, reason="It clogs."))

    row = open_row(surface)
    assert (row.method, row.cost, row.currency) == ("vacuum", Decimal("450.00"), "CHF")
    assert (row.reasons, row.grounds.expected) == (("It clogs.",), VACUUM)


def test_open_advice_is_brought_up_to_date_rather_than_doubled():
    surface = SurfaceFactory()
    keep(surface, piece(due=TODAY + 40 * DAY))
    first = open_row(surface)

    keep(surface, piece(due=TODAY + 20 * DAY, reason="Sooner."))

    assert open_row(surface) == first
    assert (open_row(surface).due_on, open_row(surface).reasons) == (TODAY + 20 * DAY, ("Sooner.",))


def test_an_advised_test_costs_what_the_firm_charges_for_a_visit():
    surface = SurfaceFactory(site__owner__organisation__test_visit_price=Decimal("180.00"))

    keep(surface, piece())

    assert open_row(surface).cost == Decimal("180.00")


def test_advice_that_no_longer_holds_is_overtaken():
    surface = SurfaceFactory()
    keep(surface, piece("clean", option=VACUUM))

    rows = keep(surface)

    assert rows == {("clean", "overtaken")}


def test_advice_beyond_a_year_is_not_given_yet():
    assert keep(SurfaceFactory(), piece(due=TODAY + 366 * DAY)) == set()


def declined(surface, *pieces):
    keep(surface, *pieces)
    return recommendations.decline(recommendation=open_row(surface), by=UserFactory(), reason="Next year.")


def put_off(surface, *pieces, days=60):
    keep(surface, *pieces)
    rows = [open_row(surface)]
    recommendations.put_off(recommendations=rows, by=UserFactory(), until=TODAY + days * DAY)
    return rows[0]


SWEEP = piece("clean", option=VACUUM)


@pytest.mark.parametrize(
    ("decide", "status"), [(declined, "declined"), (put_off, "put_off")], ids=["declined", "put off"]
)
class TestWhatWasDecided:
    def test_it_stays_quiet_though_the_record_changes(self, decide, status):
        surface = SurfaceFactory()
        decide(surface, replace(SWEEP, chance=0.20, waiting_costs=Decimal(100)))
        bump_record_version(surface.pk)

        rows = keep(surface, replace(SWEEP, chance=0.25, waiting_costs=Decimal(150)))

        assert rows == {("clean", status)}

    @pytest.mark.parametrize(
        ("changes", "said"),
        [
            ({"chance": 0.31}, "The chance of being below the limit has risen from {share:0.2000}"),
            ({"waiting_costs": Decimal(201)}, "Waiting now costs {money:201.00 EUR} a quarter"),
            ({"option": replace(VACUUM, method=CleaningMethod.REGEN_AIR)}, "another way is advised now"),
        ],
    )
    def test_it_returns_when_its_grounds_are_materially_stronger(self, decide, status, changes, said):
        surface = SurfaceFactory()
        before = replace(SWEEP, chance=0.20, waiting_costs=Decimal(100))
        decide(surface, before)

        keep(surface, replace(before, **changes))

        assert said in open_row(surface).returned_because

    def test_another_answer_to_the_same_question_returns_in_its_place(self, decide, status):
        surface = SurfaceFactory()
        decide(surface, SWEEP)

        rows = keep(surface, piece("rejoint"))

        assert rows == {("clean", "overtaken" if status == "put_off" else status), ("rejoint", "open")}


def test_declined_advice_comes_back_after_a_year():
    surface = SurfaceFactory()
    row = declined(surface, piece())
    Recommendation.objects.filter(pk=row.pk).update(decided_at=now() - 366 * DAY)

    assert keep(surface, piece()) == {("test", "declined"), ("test", "open")}


def test_what_was_put_off_comes_back_on_its_day_by_the_forecast_or_by_the_clock():
    by_forecast, by_clock = SurfaceFactory(), SurfaceFactory()
    for surface in (by_forecast, by_clock):
        put_off(surface, piece())
        surface.recommendations.update(put_off_until=TODAY)

    assert keep(by_forecast, piece()) == {("test", "open")}
    assert recommendations.return_put_off() == 1
    assert open_row(by_clock).returned_because.startswith("It was put off on")


def test_what_was_put_off_and_is_needed_no_longer_is_overtaken():
    surface = SurfaceFactory()
    put_off(surface, piece())

    assert keep(surface) == {("test", "overtaken")}


@pytest.mark.parametrize("days", [-1, 0, 366])
def test_nothing_is_put_off_to_a_day_that_is_past_or_beyond_what_advice_looks_at(days):
    surface = SurfaceFactory()

    with pytest.raises(ValidationError, match="cannot be put off to"):
        put_off(surface, piece(), days=days)


def test_a_put_off_piece_can_be_decided_at_any_time():
    surface = SurfaceFactory()
    row = put_off(surface, piece())

    recommendations.decline(recommendation=row, by=UserFactory(), reason="Not at all.")

    row.refresh_from_db()
    assert (row.status, row.put_off_until) == ("declined", None)


def test_planned_advice_stands_whatever_the_forecast_says():
    surface = SurfaceFactory()
    keep(surface, piece())
    surface.recommendations.update(status="planned")

    unneeded, needed = keep(surface), keep(surface, piece())

    assert unneeded == needed == {("test", "planned")}


def test_what_fell_due_stays_due_since_then():
    """Each morning the forecast says "today" anew; the lateness must not be forgotten."""
    surface = SurfaceFactory()
    keep(surface, piece())
    surface.recommendations.update(due_on=TODAY - 30 * DAY)

    keep(surface, piece(due=TODAY))

    assert open_row(surface).due_on == TODAY - 30 * DAY


def test_lateness_is_kept_when_frost_moves_the_work():
    surface = SurfaceFactory()
    keep(surface, piece())
    surface.recommendations.update(due_on=TODAY - 30 * DAY)

    keep(surface, piece(due=TODAY + 60 * DAY))

    assert open_row(surface).due_on == TODAY - 30 * DAY


def test_new_facts_move_what_was_late():
    surface = SurfaceFactory()
    keep(surface, piece("clean", option=VACUUM))
    surface.recommendations.update(due_on=TODAY - 30 * DAY)
    bump_record_version(surface.pk)

    keep(surface, piece("clean", due=TODAY + 200 * DAY, option=VACUUM))

    assert open_row(surface).due_on == TODAY + 200 * DAY


def given_a_month_ago(surface, action, due):
    keep(surface, piece(action, option=VACUUM if action == "clean" else None))
    surface.recommendations.update(created_at=now() - 30 * DAY, due_on=due)


def test_a_test_made_without_a_visit_answers_the_advice():
    surface = SurfaceFactory()
    given_a_month_ago(surface, "test", TODAY - 10 * DAY)
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=TODAY))

    rows = keep(surface, piece(due=TODAY + 365 * DAY))

    assert rows == {("test", "done"), ("test", "open")}
    assert open_row(surface).due_on == TODAY + 365 * DAY


def test_a_cleaning_made_without_a_visit_answers_the_advice():
    surface = SurfaceFactory()
    given_a_month_ago(surface, "clean", TODAY - 10 * DAY)
    CleaningFactory(surface=surface, cleaned_on=TODAY)

    assert keep(surface) == {("clean", "done")}


@pytest.mark.parametrize(
    ("tested_on", "due", "why"),
    [
        (TODAY - 40 * DAY, TODAY - 10 * DAY, "made before the advice, recorded late"),
        (TODAY, TODAY + 200 * DAY, "long before it was due"),
    ],
)
def test_a_test_that_does_not_answer_the_advice_leaves_it_open(tested_on, due, why):
    surface = SurfaceFactory()
    given_a_month_ago(surface, "test", due)
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=tested_on))

    assert keep(surface, piece()) == {("test", "open")}, why


def test_a_test_without_a_rate_does_not_answer_the_advice():
    surface = SurfaceFactory()
    given_a_month_ago(surface, "test", TODAY - 10 * DAY)
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=TODAY))
    InfiltrationTest.objects.update(method="spreading_area", rate_mm_h=None, own_value=0.5, own_unit="m²")

    assert keep(surface, piece()) == {("test", "open")}


def test_the_test_that_called_for_the_advice_does_not_answer_it():
    surface = SurfaceFactory()
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=TODAY))
    keep(surface, piece(due=TODAY + 30 * DAY))

    rows = keep(surface, piece(due=TODAY + 30 * DAY))

    assert rows == {("test", "open")}

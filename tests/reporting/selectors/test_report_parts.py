"""What a report holds besides the record: tests against the limit, the agreement, what is asked, who comes when."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from accounts.calc.audience import Audience
from planning.models import Agreement
from reporting.calc.report_parts import AgainstLimit, AgreedCount
from reporting.calc.values import Money
from reporting.selectors.sites import report_snapshot
from tests.clock import START, TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    LocationFactory,
    OwnerFactory,
    QuoteFactory,
    QuoteLineFactory,
    QuoteVersionFactory,
    RoundFactory,
    VisitFactory,
    VisitTaskFactory,
)

DAY = timedelta(days=1)
YEAR = 365 * DAY


def report(firm, audience=Audience.OWNER, since=TODAY - YEAR):
    return report_snapshot(firm.site, audience, since=since)


def measured(firm, days_ago=30, **tests):
    """A round of one ring test for each spot named, with what differs from a usual one."""
    round_ = RoundFactory(surface=firm.surface, tested_on=TODAY - days_ago * DAY, recorded_by=firm.technician)
    for spot, fields in tests.items():
        InfiltrationTestFactory(round=round_, spot=spot, **fields)
    return round_


def test_each_test_is_held_against_the_limit(firm):
    firm.surface.limit_mm_h = firm.surface.agreed_limit_mm_h = 1000.0
    firm.surface.save()
    late = {"start_delay_s": 200.0}  # an upper bound
    measured(
        firm,
        A={"elapsed_s": 20.0},
        B={"elapsed_s": 2000.0},
        C={"elapsed_s": 20.0, **late},
        D={"elapsed_s": 2000.0, **late},
    )

    (round_,) = report(firm).surfaces[0].rounds

    assert {test.spot: test.against_limit for test in round_.tests} == {
        "A": AgainstLimit.REACHES,
        "B": AgainstLimit.BELOW,
        "C": AgainstLimit.CANNOT_TELL,
        "D": AgainstLimit.BELOW,
    }
    assert [bool(test.departures) for test in round_.tests] == [False, False, True, True]
    assert round_.result.reached is False


def test_a_test_that_the_weather_voids_is_shown_as_left_out(firm):
    round_ = measured(firm)
    round_.standing_water = True
    round_.save()
    InfiltrationTestFactory(round=round_, spot="A")

    (reported,) = report(firm).surfaces[0].rounds

    assert [test.against_limit for test in reported.tests] == [AgainstLimit.LEFT_OUT]
    assert reported.mean is None


def test_only_rounds_of_the_period_that_count_are_listed(firm):
    measured(firm, days_ago=30, A={})
    measured(firm, days_ago=400, A={})
    aside = measured(firm, days_ago=20, A={})
    aside.state = "void"
    aside.save()

    assert [round_.on for round_ in report(firm).surfaces[0].rounds] == [TODAY - 30 * DAY]


def test_methods_of_the_period_stand_once_with_their_standard(firm):
    measured(firm, days_ago=30, A={}, B={})
    measured(firm, days_ago=20, A={})

    (method,) = report(firm).methods

    assert method.name == "Constant-head single ring"
    assert "ASTM" in method.standard


def test_spots_stand_with_what_the_ring_last_read_there(firm):
    spot = LocationFactory(surface=firm.surface, label="North", x_m=1.0, y_m=2.0)
    LocationFactory(surface=firm.surface, label="Gone", retired=True)
    InfiltrationTestFactory(round=measured(firm), location=spot, spot="")

    (part,) = report(firm).surfaces[0].spots

    assert (part.label, part.last is not None) == ("North", True)


def agree(firm, **fields):
    return Agreement.objects.create(site=firm.site, **{"tests_per_year": 1.0, **fields})


def test_the_agreement_is_held_against_what_was_done(firm):
    agree(firm, cleanings_per_year=2.0, since=TODAY - 2 * YEAR)
    measured(firm, days_ago=30, A={})
    CleaningFactory(surface=firm.surface, cleaned_on=TODAY - 20 * DAY)

    agreed = report(firm).agreed

    assert agreed.tests == AgreedCount(asked=1, done=1, more=0)
    assert agreed.cleanings == AgreedCount(asked=2, done=1, more=0, behind=(firm.surface.name,))


def test_a_round_without_a_test_fulfils_nothing(firm):
    agree(firm, since=TODAY - 2 * YEAR)
    measured(firm)

    assert report(firm).agreed.tests == AgreedCount(1, 0, 0, (firm.surface.name,))


def test_an_agreement_that_promises_nothing_is_not_counted(firm):
    agree(firm, tests_per_year=0.0)

    assert report(firm).agreed is None


def quoted(firm, **fields):
    version = QuoteVersionFactory(quote=QuoteFactory(owner=firm.owner), **fields)
    QuoteLineFactory(version=version, site=firm.site, surface=firm.surface)
    return version


def test_quotes_that_can_still_be_answered_are_asked_of_the_owner(firm):
    later = quoted(firm, valid_until=TODAY + 9 * DAY)
    first = quoted(firm, valid_until=TODAY)
    quoted(firm, valid_until=TODAY - DAY)
    quoted(firm, state="approved")
    quoted(firm, state="draft", sent_at=None, sent_by=None)
    elsewhere = QuoteVersionFactory(quote=QuoteFactory(owner=OwnerFactory(organisation=firm.organisation)))
    QuoteLineFactory(version=elsewhere, site=firm.site)

    quotes = report(firm).quotes

    assert [quote.key for quote in quotes] == [first.pk, later.pk]
    assert (quotes[0].total, quotes[0].lines) == (Money(Decimal("595"), "EUR"), 1)


def test_a_quote_for_another_site_is_not_asked_about_here(firm):
    QuoteLineFactory(version=QuoteVersionFactory(quote=QuoteFactory(owner=firm.owner)), site=None)

    assert report(firm).quotes == ()


def visited(firm, on, crew="Crew south", **fields):
    visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation, name=crew), visit_on=on, **fields)
    return VisitTaskFactory(visit=visit, surface=firm.surface)


def test_visits_to_come_are_told_with_their_work(firm):
    visited(firm, TODAY + 9 * DAY, crew="B")
    visited(firm, TODAY, crew="A")
    visited(firm, TODAY - DAY, crew="C")
    visited(firm, TODAY + DAY, crew="D", status="cancelled")

    visits = report(firm).visits

    assert [visit.on for visit in visits] == [TODAY, TODAY + 9 * DAY]
    assert visits[0].work == (f"Test: {firm.surface.name}",)


@pytest.mark.parametrize(
    ("audience", "agreed", "quotes", "days", "crews"),
    [
        (Audience.FIRM, True, 1, 1, ["Crew south"]),
        (Audience.OWNER, True, 1, 1, [""]),
        (Audience.LINK, False, 0, 0, []),
    ],
)
def test_each_audience_is_told_its_own(firm, audience, agreed, quotes, days, crews):
    agree(firm)
    quoted(firm)
    visited(firm, TODAY + DAY)
    measured(firm, A={})

    made = report(firm, audience)

    assert (made.agreed is not None, len(made.quotes), len(made.visits)) == (agreed, quotes, days)
    assert [visit.by for visit in made.visits] == crews
    (round_,) = made.surfaces[0].rounds
    assert bool(round_.by) is (audience is not Audience.LINK)


def test_the_number_of_queries_does_not_grow_with_tests(firm, django_assert_max_num_queries):
    for days in range(1, 7):
        measured(firm, days_ago=days, A={}, B={}, C={})

    with django_assert_max_num_queries(15):
        report(firm)


def test_a_report_since_the_opening_counts_all_of_it(firm):
    measured(firm, days_ago=700, A={})

    made = report(firm, since=date(2020, 1, 1))

    assert len(made.surfaces[0].rounds) == 1


def test_a_visit_whose_work_is_done_is_not_announced(firm):
    crew = CrewFactory(organisation=firm.organisation)
    visit = VisitFactory(crew=crew, visit_on=TODAY, organisation=firm.organisation)
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action="test")
    assert len(report(firm).visits) == 1

    task.ended_at, task.outcome = START, "done"
    task.save()

    assert report(firm).visits == ()

"""The page of a site, its report over a period, and the first page of an owner's people."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils.timezone import now

from accounts.calc.audience import Audience
from maintenance.calc.advice_payload import Grounds
from maintenance.models import Recommendation
from maintenance.services import cleanings, forecasts, releases
from planning.models import Agreement
from reporting.calc.parts import AgreementPart
from reporting.calc.values import Money
from reporting.selectors.sites import report_snapshot, site_snapshot, start_snapshot
from reporting.templatetags.documents import agreed_terms
from tests.clock import TODAY
from tests.factories import CleaningFactory, InfiltrationTestFactory, OwnerFactory, RoundFactory, SiteFactory
from tests.factories import SurfaceFactory as NewSurface

YEAR = timedelta(days=365)
DAY = timedelta(days=1)


def report(firm, since=TODAY - YEAR, audience=Audience.OWNER):
    return report_snapshot(firm.site, audience, since=since)


def test_the_report_counts_what_was_done_in_its_period(firm):
    for days in (10, 400):
        InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=TODAY - days * DAY))
        CleaningFactory(surface=firm.surface, cleaned_on=TODAY - days * DAY, cost=Decimal("100.50"))

    made = report(firm)

    assert (made.rounds_done, made.cleanings_done) == (1, 1)
    assert made.spent == (Money(Decimal("100.50"), "EUR"),)
    assert [line.on for line in made.surfaces[0].record] == [TODAY - 10 * DAY] * 2


def test_what_was_set_aside_is_shown_but_not_counted(firm):
    event = CleaningFactory(surface=firm.surface, cleaned_on=TODAY - DAY, cost=Decimal("100.00"))
    cleanings.void_cleaning(event=event, by=firm.admin, reason="Another yard.")

    made = report(firm)

    assert (made.cleanings_done, made.spent) == (0, ())
    assert [(line.is_active, line.state_reason) for line in made.surfaces[0].record] == [
        (False, "Another yard.")
    ]


def test_the_report_adds_up_the_advice_that_is_ahead(firm):
    for action, status, cost in (
        ("test", "open", "200.00"),
        ("clean", "planned", "300.25"),
        ("look", "done", "9"),
    ):
        row = Recommendation.objects.create(
            surface=firm.surface,
            action=action,
            status=status,
            cost=Decimal(cost),
            due_on=TODAY,
            earliest_on=TODAY,
            currency="EUR",
            grounds=Grounds(1, ("Because.",)),
        )
        if status != "done":
            releases.release(recommendations=[row], by=firm.coordinator)

    assert report(firm).ahead == (Money(Decimal("500.25"), "EUR"),)
    assert report(firm, audience=Audience.LINK).ahead == ()


def test_a_surface_that_was_removed_leaves_the_report_but_not_the_sites_page(firm):
    firm.surface.removed_on = TODAY
    firm.surface.save()

    assert report(firm).surfaces == ()
    assert [s.name for s in site_snapshot(firm.site, Audience.OWNER).surfaces] == [firm.surface.name]


def test_states_that_no_surface_is_in_are_not_counted(firm):
    forecasts.refresh(firm.surface.pk)

    assert [(group.state, group.count) for group in report(firm).states] == [("not_tested", 1)]


def test_a_surface_without_a_forecast_has_none_and_is_not_tested(firm):
    (surface,) = report(firm).surfaces

    assert (surface.forecast, surface.standing.state) == (None, "not_tested")


def test_the_forecast_comes_with_its_curves_and_words(firm):
    round_ = RoundFactory(surface=firm.surface, tested_on=TODAY - 30 * DAY)
    InfiltrationTestFactory(round=round_)
    forecasts.refresh(firm.surface.pk)

    decline = report(firm).surfaces[0].forecast.decline

    drawn = decline.record
    assert len(drawn.future.on) == len(drawn.below) == len(drawn.future.hi95)
    assert [test.on for test in drawn.tests] == [TODAY - 30 * DAY]
    assert "mm/h" in decline.summary.si
    assert "in/h" in decline.summary.us


def test_the_sites_page_says_what_was_agreed(firm):
    Agreement.objects.create(site=firm.site, tests_per_year=2, cleanings_per_year=1)
    firm.site.refresh_from_db()

    assert site_snapshot(firm.site, Audience.OWNER).agreement == AgreementPart(2.0, 1.0)


@pytest.mark.parametrize(
    ("audience", "said"),
    [
        (Audience.FIRM, ["2 passes", "at 80 bar", "with washer", "by Crew 1", "disposal: ticket T-17"]),
        (Audience.OWNER, ["2 passes", "at 80 bar", "with washer", "by Crew 1", "disposal: ticket T-17"]),
        (Audience.LINK, ["2 passes", "at 80 bar", "with washer", "disposal: ticket T-17"]),
    ],
)
def test_a_report_says_how_a_cleaning_was_done_and_by_whom_only_to_who_may_know(firm, audience, said):
    done = {"passes": 2, "pressure_bar": 80.0, "done_by": "Crew 1", "equipment": "washer"}
    CleaningFactory(surface=firm.surface, method="wash_vacuum", disposal_ticket="T-17", **done)

    made = report_snapshot(firm.site, audience, since=date(2024, 1, 1))

    (line,) = made.surfaces[0].record
    assert [detail.si for detail in line.details] == said
    assert line.details[1].us == "at 1160 psi"


def test_price_and_term_of_an_agreement_are_told_with_it(firm):
    term = {"since": date(2026, 1, 1), "until": date(2028, 12, 31)}
    Agreement.objects.create(
        site=firm.site, tests_per_year=2, price_per_year=Decimal(1200), currency="EUR", **term
    )
    firm.site.refresh_from_db()

    agreed = site_snapshot(firm.site, Audience.OWNER).agreement

    said = agreed_terms(agreed).replace("\xa0", " ")
    assert said == "; 1,200.00 EUR a year, from 1 Jan 2026 until 31 Dec 2028"


def test_an_owners_people_see_their_own_sites_each_once(firm):
    second = SiteFactory(owner=firm.owner, name="Aardvark Yard")
    for site in (second, firm.site, second):
        NewSurface(site=site)
    NewSurface(site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation)))

    page = start_snapshot(firm.owner_person, now())

    assert [(site.name, len(site.surfaces)) for site in page.sites] == [
        ("Aardvark Yard", 2),
        (firm.site.name, 2),
    ]
    assert [(group.state, group.count) for group in page.states] == [("not_tested", 4)]


@pytest.mark.parametrize("surfaces", [1, 6])
def test_a_report_asks_the_database_as_often_for_many_surfaces_as_for_few(
    firm, surfaces, django_assert_max_num_queries
):
    for _ in range(surfaces - 1):
        NewSurface(site=firm.site)
    for surface in firm.site.surfaces.all():
        InfiltrationTestFactory(round=RoundFactory(surface=surface))
        forecasts.refresh(surface.pk)

    with django_assert_max_num_queries(14):
        report(firm)

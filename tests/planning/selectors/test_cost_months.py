"""What work and agreements cost and bring by month, from rows: a year worked out by hand, and who sees what."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from maintenance.calc.advice_payload import Grounds
from maintenance.models import MethodTerms, Recommendation
from maintenance.services.cleanings import terms_of
from planning.calc.cost_months import Part, Sum, month_of
from planning.models import Agreement, CrewMethod
from planning.selectors.cost_months import costs_of
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    OwnerFactory,
    QuoteLineFactory,
    QuoteVersionFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)

FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)
MAY, JUNE = date(2026, 5, 1), date(2026, 6, 1)


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation, hour_cost=Decimal(50))


def advise(surface, cost="500", hours=3.0, *, agreed=False):
    return Recommendation.objects.create(
        surface=surface,
        action="clean",
        method="vacuum",
        due_on=MAY,
        earliest_on=MAY,
        currency="EUR",
        cost=None if cost is None else Decimal(cost),
        crew_hours=hours,
        grounds=Grounds(1, ("It clogs.",), is_agreed=agreed),
    )


def task(
    crew,
    on,
    surface,
    *,
    advice=None,
    cleaning=None,
    outcome="",
    status="scheduled",
    method="vacuum",
    taken_min=None,
):
    visit = VisitFactory(crew=crew, visit_on=on, status=status)
    return VisitTaskFactory(
        visit=visit,
        surface=surface,
        action="clean",
        method=method,
        recommendation=advice,
        cleaning=cleaning,
        outcome=outcome,
        taken_min=taken_min,
        ended_at=now() if outcome else None,
    )


def costs(firm, owner=None, first=FIRST, last=LAST):
    return costs_of(firm.viewer, firm.organisation, owner, first, last)


def money(price, cost):
    return Sum(Decimal(price), Decimal(cost))


def test_planned_work_is_priced_as_advised_and_costs_the_hours_of_its_crew(firm, crew):
    """3 hours at 50."""
    task(crew, date(2026, 6, 20), firm.surface, advice=advise(firm.surface))

    found = costs(firm)

    assert found.by_part[JUNE, Part.AHEAD] == money("500.00", "150.00")
    assert found.total == money("500.00", "150.00")
    assert found.owners == [firm.owner.name]


def test_an_approved_quote_is_its_price_with_its_share_of_the_call_out(firm, crew):
    """Two works of 300 and 100 and a call-out of 40, net 440: divided three to one; another waits for its answer."""
    rows = [
        advise(surface)
        for surface in (firm.surface, SurfaceFactory(site=firm.site), SurfaceFactory(site=firm.site))
    ]
    version = QuoteVersionFactory(
        quote__owner=firm.owner, state="approved", decided_at=now(), net=Decimal(440)
    )
    for row, price in zip((*rows[:2], None), ("300", "100", "40"), strict=True):
        QuoteLineFactory(version=version, recommendation=row, quantity=1, unit_price=Decimal(price))
    QuoteLineFactory(version__quote__owner=firm.owner, recommendation=rows[2], unit_price=Decimal(9))
    for row in rows:
        task(crew, MAY, row.surface, advice=row)

    found = costs(firm)

    assert found.of_month[MAY].price == Decimal("330.00") + Decimal("110.00") + Decimal("500.00")


def test_what_was_charged_counts_before_what_was_approved_or_advised(firm, crew):
    event = CleaningFactory(surface=firm.surface, cleaned_on=MAY, cost=Decimal("432.10"), currency="EUR")
    task(crew, MAY, firm.surface, advice=advise(firm.surface), cleaning=event, outcome="done", status="done")

    assert costs(firm).by_part[MAY, Part.DONE] == money("432.10", "150.00")


def test_what_only_an_agreement_asks_for_is_paid_by_it(firm, crew):
    """1,000 a year from March on, to the end of October: 83.33 or 83.34 a month, eight months."""
    Agreement.objects.create(
        site=firm.site,
        price_per_year=Decimal(1000),
        currency="EUR",
        since=date(2026, 3, 15),
        until=date(2026, 10, 31),
    )
    task(crew, MAY, firm.surface, advice=advise(firm.surface, agreed=True))

    found = costs(firm)

    assert found.by_part[MAY, Part.AHEAD] == money("0", "150.00")
    months = {month: found.by_part[month, Part.AGREEMENT].price for month in found.months}
    assert [month.month for month, price in months.items() if price] == [3, 4, 5, 6, 7, 8, 9, 10]
    assert sum(months.values()) == Decimal("666.66")


@pytest.mark.parametrize(("renews", "months"), [(True, 12), (False, 2)])
def test_an_agreement_that_renews_goes_on(firm, renews, months):
    Agreement.objects.create(
        site=firm.site, price_per_year=Decimal(1200), currency="EUR", until=date(2026, 2, 28), renews=renews
    )

    assert costs(firm).total.price == Decimal(100) * months


def test_a_subcontracted_crew_costs_what_it_charges(firm, crew):
    """1,000 m² at 0.30."""
    crew.is_subcontracted = True
    crew.save()
    CrewMethod.objects.create(crew=crew, method="vacuum", cost_per_m2=Decimal("0.30"))
    task(crew, MAY, firm.surface, advice=advise(firm.surface))

    assert costs(firm).total.cost == Decimal("300.00")


def test_without_advice_the_hours_are_those_of_the_firms_output_and_the_price_is_not_known(firm, crew):
    """1,000 m² at 2,000 m²/h are half an hour, and a quarter to set up, at 50; what is not offered has no output."""
    terms_of(firm.organisation)
    MethodTerms.objects.filter(method="mill").update(offered=False)
    task(crew, MAY, firm.surface)
    task(crew, JUNE, firm.surface, method="mill")

    found = costs(firm)

    assert found.of_month[MAY] == Sum(Decimal(0), Decimal("37.50"), no_price=1)
    assert found.of_month[JUNE] == Sum(no_price=1, no_cost=1)


def test_what_the_crew_told_before_makes_the_hours_of_what_lies_ahead(firm, crew):
    """It took four times as long as its output says, several times over: what is ahead costs more than that says."""
    terms_of(firm.organisation)
    for days in range(6):
        event = CleaningFactory(surface=firm.surface, cleaned_on=MAY, method="vacuum", cost=None)
        on = MAY + timedelta(days=days)
        task(crew, on, firm.surface, cleaning=event, outcome="done", taken_min=4 * 45)
    task(crew, date(2026, 6, 20), firm.surface, advice=advise(firm.surface))

    assert costs(firm).of_month[JUNE].cost > 2 * Decimal("37.50")


def test_a_cleaning_without_a_visit_counts_and_its_cost_is_not_known(firm):
    CleaningFactory(surface=firm.surface, cleaned_on=MAY, cost=Decimal(70), currency="EUR")
    CleaningFactory(surface=firm.surface, cleaned_on=MAY, cost=Decimal(70), currency="USD")
    CleaningFactory(surface=firm.surface, cleaned_on=MAY, cost=Decimal(70), currency="EUR", state="void")

    assert costs(firm).total == Sum(Decimal(70), Decimal(0), no_cost=1)


def test_what_was_cancelled_does_not_count_but_what_was_done_before_does(firm, crew):
    task(crew, MAY, firm.surface, advice=advise(firm.surface), status="cancelled")
    task(
        crew,
        MAY,
        firm.surface,
        advice=advise(SurfaceFactory(site=firm.site)),
        status="cancelled",
        outcome="done",
    )

    found = costs(firm)

    assert (found.of_part[Part.DONE].price, found.of_part[Part.AHEAD].price) == (Decimal(500), Decimal(0))


@pytest.mark.parametrize("outcome", ["not_done", "given_up"])
def test_what_was_not_done_costs_and_brings_nothing(firm, crew, outcome):
    task(crew, MAY, firm.surface, advice=advise(firm.surface), outcome=outcome)

    assert costs(firm).total == Sum()


def test_the_hours_that_the_crew_told_count_before_those_worked_out(firm, crew):
    """90 minutes at 50."""
    task(crew, MAY, firm.surface, advice=advise(firm.surface), outcome="done", taken_min=90)

    assert costs(firm).total == money("500.00", "75.00")


def test_a_part_is_priced_with_the_rest_that_follows(firm, crew):
    row = advise(firm.surface)
    task(crew, MAY, firm.surface, advice=row, outcome="part", taken_min=60)
    task(crew, JUNE, firm.surface, advice=row)

    found = costs(firm)

    assert found.of_month[MAY] == money("0", "50.00")
    assert found.of_month[JUNE] == money("500.00", "150.00")


def test_what_a_part_cost_is_not_known_unless_it_was_told(firm, crew):
    task(crew, MAY, firm.surface, advice=advise(firm.surface), outcome="part")

    assert costs(firm).total == Sum(no_cost=1)


def test_work_of_several_days_is_paid_and_costs_its_hours_once(firm, crew):
    """100.00 in three parts are 33.33, 33.33 and 33.34; three hours are an hour each, at 50."""
    row = advise(firm.surface, cost="100")
    for days in range(3):
        task(crew, MAY + timedelta(days=days), firm.surface, advice=row)
    task(crew, MAY, firm.surface, advice=row, outcome="not_done")

    assert costs(firm).total == money("100.00", "150.00")


def test_days_outside_the_months_asked_for_keep_their_parts(firm, crew):
    row = advise(firm.surface)
    for on in (date(2026, 5, 31), JUNE):
        task(crew, on, firm.surface, advice=row)

    assert costs(firm, first=MAY, last=MAY).total == money("250.00", "75.00")


def test_a_part_costs_the_firm_its_share_and_the_rest_the_rest(firm, crew):
    """Of three hours at 50 a fifth, then four fifths on two days."""
    row = advise(firm.surface)
    event = CleaningFactory(surface=firm.surface, cleaned_on=MAY, share_of_area=0.2, cost=None)
    task(crew, MAY, firm.surface, advice=row, outcome="part", cleaning=event)
    for days in range(2):
        task(crew, JUNE + timedelta(days=days), firm.surface, advice=row)

    found = costs(firm)

    assert found.of_month[MAY] == money("0", "30.00")
    assert found.of_month[JUNE] == money("500.00", "120.00")


def test_a_subcontracted_crew_charges_the_part_that_it_cleaned(firm, crew):
    """A quarter of 1,000 m² at 0.30."""
    crew.is_subcontracted = True
    crew.save()
    CrewMethod.objects.create(crew=crew, method="vacuum", cost_per_m2=Decimal("0.30"))
    event = CleaningFactory(surface=firm.surface, cleaned_on=MAY, share_of_area=0.25, cost=None)
    task(crew, MAY, firm.surface, advice=advise(firm.surface), outcome="part", cleaning=event)

    assert costs(firm).total.cost == Decimal("75.00")


def test_no_minutes_told_are_no_cost_and_not_an_unknown_one(firm, crew):
    task(crew, MAY, firm.surface, advice=advise(firm.surface), outcome="done", taken_min=0)

    assert costs(firm).total == money("500.00", "0.00")


def test_a_cleaning_that_was_set_aside_counts_no_more(firm, crew):
    event = CleaningFactory(surface=firm.surface, cleaned_on=MAY, cost=Decimal(432), currency="EUR")
    task(crew, MAY, firm.surface, advice=advise(firm.surface), cleaning=event, outcome="done")
    before = costs(firm).total

    type(event).objects.filter(pk=event.pk).update(state="void")

    assert before == money("432", "150.00")
    assert costs(firm).total == Sum()


def test_a_cleaning_that_was_corrected_counts_once_as_corrected(firm, crew):
    given = {"surface": firm.surface, "cleaned_on": MAY, "currency": "EUR"}
    first = CleaningFactory(cost=Decimal(432), state="replaced", **given)
    second = CleaningFactory(cost=Decimal(400), state="replaced", replaces=first, **given)
    CleaningFactory(cost=Decimal(300), replaces=second, **given)
    task(crew, MAY, firm.surface, advice=advise(firm.surface), cleaning=first, outcome="done")

    assert costs(firm).total == money("300", "150.00")


def test_a_year_that_begins_within_a_month_is_charged_twelve_times(firm):
    Agreement.objects.create(
        site=firm.site,
        price_per_year=Decimal(1000),
        currency="EUR",
        since=date(2026, 3, 15),
        until=date(2027, 3, 14),
    )

    found = costs(firm, last=date(2027, 12, 31))

    assert found.total.price == Decimal("1000.00")
    assert sum(1 for month in found.months if found.of_month[month].price) == 12


def test_an_approval_of_other_work_is_not_its_price(firm, crew):
    row = advise(firm.surface)
    version = QuoteVersionFactory(
        quote__owner=firm.owner, state="approved", decided_at=now(), net=Decimal(440)
    )
    QuoteLineFactory(version=version, recommendation=row)
    task(crew, MAY, firm.surface, advice=row)
    before = costs(firm).total.price

    Recommendation.objects.filter(pk=row.pk).update(method="mill", cost=Decimal(900))

    assert (before, costs(firm).total.price) == (Decimal(440), Decimal(900))


def test_whole_months_of_one_owner_are_asked_for(firm, crew):
    other = SurfaceFactory(site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation)))
    for on, surface in ((MAY, firm.surface), (date(2026, 5, 31), other), (JUNE, firm.surface)):
        task(crew, on, surface, advice=advise(surface, cost="100"))
        surface.recommendations.update(status="done")

    of_may = costs(firm, first=date(2026, 5, 20), last=date(2026, 5, 21))
    of_owner = costs(firm, owner=firm.owner)

    assert (of_may.total.price, of_may.months) == (Decimal(200), [MAY])
    assert of_owner.total.price == Decimal(200)
    assert of_owner.owners == [firm.owner.name]


def test_nothing_of_another_firm_is_in_it(firm):
    elsewhere = SurfaceFactory()
    crew = CrewFactory(organisation=elsewhere.site.organisation)
    task(crew, MAY, elsewhere, advice=advise(elsewhere))
    Agreement.objects.create(site=elsewhere.site, price_per_year=Decimal(1000))

    assert costs(firm).total == Sum()
    assert costs_of(firm.outsider, elsewhere.site.organisation, None, FIRST, LAST).total == Sum()


def test_it_takes_as_many_queries_for_one_work_as_for_twenty(firm, crew):
    def many(number):
        for n in range(number):
            surface = SurfaceFactory(site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation)))
            row = advise(surface)
            version = QuoteVersionFactory(quote__owner=surface.site.owner, state="approved", decided_at=now())
            QuoteLineFactory(version=version, recommendation=row)
            task(crew, MAY + timedelta(days=n), surface, advice=row)
            CleaningFactory(surface=surface, cleaned_on=MAY, currency="EUR")
            Agreement.objects.create(site=surface.site, price_per_year=Decimal(100), currency="EUR")

    def asked():
        with CaptureQueriesContext(connection) as seen:
            costs(firm)
        return len(seen)

    many(1)
    few = asked()
    many(19)

    assert asked() == few
    assert month_of(MAY) == MAY

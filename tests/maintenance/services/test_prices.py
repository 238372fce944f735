"""Price lists: which is in force, what advice reckons with, and that none is ever rewritten."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from core.calc.jobs import JobState
from core.calc.paving import CleaningMethod
from maintenance.calc.price_list import MethodPrice, MethodPrices
from maintenance.models import Forecast, MethodTerms, PriceList
from maintenance.selectors.prices import price_list_on, price_lists
from maintenance.services.cleanings import terms_of
from maintenance.services.prices import begin_price_lists, carry_over, save_price_list
from tests.clock import TODAY
from tests.factories import (
    OrganisationFactory,
    PriceListFactory,
    SiteFactory,
    SurfaceFactory,
    UserFactory,
)
from tests.refusals import refused

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def new_list(organisation, **changes):
    made = PriceListFactory.build(organisation=organisation, made_by=None, currency="")
    for name, value in changes.items():
        setattr(made, name, value)
    return made


def noon(day):
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def vacuum(organisation):
    return MethodTerms.objects.get(organisation=organisation, method="vacuum")


def only_vacuum(per_m2, minimum):
    return MethodPrices((MethodPrice(CleaningMethod.VACUUM, Decimal(per_m2), Decimal(minimum)),))


def test_the_list_in_force_is_the_last_that_has_begun():
    firm = OrganisationFactory()
    first, second, third = (
        PriceListFactory(organisation=firm, valid_from=date(2026, month, 1)) for month in (1, 5, 9)
    )
    PriceListFactory(valid_from=date(2026, 5, 20))  # of another firm

    assert price_list_on(firm, date(2025, 12, 31)) is None
    assert price_list_on(firm, date(2026, 1, 1)) == first
    assert price_list_on(firm, date(2026, 4, 30)) == first
    assert price_list_on(firm, date(2026, 5, 1)) == second
    assert price_list_on(firm, date(2027, 1, 1)) == third


def test_of_two_lists_that_begin_on_one_day_the_later_written_counts():
    firm = OrganisationFactory()
    PriceListFactory(organisation=firm, valid_from=TODAY)

    mended = PriceListFactory(organisation=firm, valid_from=TODAY)

    assert price_list_on(firm, TODAY) == mended


def test_a_list_in_another_currency_is_not_in_force(firm):
    organisation = firm.organisation
    PriceListFactory(organisation=organisation)
    organisation.currency = "CHF"
    organisation.save()

    (told,) = price_lists(firm.viewer, organisation, TODAY)

    assert price_list_on(organisation, TODAY) is None
    assert (told.is_in_force, told.is_coming) == (False, False)
    assert not carry_over(organisation=organisation, today=TODAY)


def test_all_lists_are_told_with_their_days_and_how_they_stand(firm):
    old, now, coming = (
        PriceListFactory(organisation=firm.organisation, valid_from=day)
        for day in (date(2024, 1, 1), date(2026, 1, 1), date(2027, 1, 1))
    )

    found = price_lists(firm.viewer, firm.organisation, TODAY)

    assert [(each.row, each.until, each.is_in_force, each.is_coming) for each in found] == [
        (coming, None, False, True),
        (now, date(2027, 1, 1), True, False),
        (old, date(2026, 1, 1), False, False),
    ]


def test_a_list_is_stored_in_the_firms_currency_and_advice_reckons_with_it_at_once():
    firm, by = OrganisationFactory(currency="CHF"), UserFactory()
    terms_of(firm)

    stored = save_price_list(prices=new_list(firm), by=by)

    firm.refresh_from_db()
    assert (stored.currency, stored.made_by) == ("CHF", by)
    assert (vacuum(firm).cost_per_m2, vacuum(firm).minimum_charge) == (Decimal("0.50"), Decimal(200))
    assert firm.test_visit_price == Decimal(150)
    assert firm.prices_given_at is not None


def test_a_way_of_cleaning_that_the_list_has_not_keeps_its_terms():
    firm = OrganisationFactory()
    mill = terms_of(firm)["mill"].cost_per_m2

    save_price_list(prices=new_list(firm, test_price=None), by=UserFactory())

    firm.refresh_from_db()
    assert MethodTerms.objects.get(organisation=firm, method="mill").cost_per_m2 == mill
    assert firm.test_visit_price is None


def test_a_coming_list_changes_nothing_until_its_day():
    firm, tomorrow = OrganisationFactory(), TODAY + DAY
    before = terms_of(firm)["vacuum"].cost_per_m2
    coming = new_list(firm, valid_from=tomorrow, methods=only_vacuum("0.99", "300"))
    save_price_list(prices=coming, by=UserFactory())
    then = vacuum(firm).cost_per_m2

    began = [begin_price_lists(noon(day)) for day in (TODAY, tomorrow, tomorrow)]

    assert then == before
    assert began == [0, 1, 0]
    assert vacuum(firm).cost_per_m2 == Decimal("0.99")


def test_a_list_begins_with_the_day_where_the_firm_works():
    """At 11:00 UTC the next day has begun on Kiritimati, 14 hours ahead, and not in Hawaii, 10 behind."""
    tomorrow = TODAY + DAY
    firms = {zone: OrganisationFactory() for zone in ("Pacific/Kiritimati", "Pacific/Honolulu")}
    for zone, firm in firms.items():
        SiteFactory(owner__organisation=firm, organisation=firm, time_zone=zone)
        PriceListFactory(organisation=firm, valid_from=tomorrow, methods=only_vacuum("0.99", "300"))
        terms_of(firm)

    began = begin_price_lists(noon(TODAY) - timedelta(hours=1))

    assert began == 1
    assert vacuum(firms["Pacific/Kiritimati"]).cost_per_m2 == Decimal("0.99")
    assert vacuum(firms["Pacific/Honolulu"]).cost_per_m2 != Decimal("0.99")


def test_the_widest_prices_that_a_list_takes_are_taken_into_advice():
    firm, most = OrganisationFactory(), "9999999999.99"
    PriceListFactory(organisation=firm, methods=only_vacuum(most, most), test_price=Decimal(most))

    assert carry_over(organisation=firm, today=TODAY)

    firm.refresh_from_db()
    assert (vacuum(firm).cost_per_m2, vacuum(firm).minimum_charge) == (Decimal(most), Decimal(most))
    assert firm.test_visit_price == Decimal(most)


def test_a_list_that_cannot_be_taken_in_is_logged_and_the_lists_of_other_firms_begin(caplog):
    rows = [OrganisationFactory() for _ in range(3)]
    for firm, price in zip(rows, ("0.99", "99999999999999", "0.98"), strict=True):
        PriceListFactory(organisation=firm, methods=only_vacuum(price, "300"))

    began = begin_price_lists(noon(TODAY))

    assert began == 2
    assert [vacuum(rows[n]).cost_per_m2 for n in (0, 2)] == [Decimal("0.99"), Decimal("0.98")]
    assert str(rows[1].pk) in caplog.text


def test_forecasts_are_made_anew_only_where_a_price_is_new():
    surface = SurfaceFactory()
    firm = surface.site.organisation
    save_price_list(prices=new_list(firm), by=UserFactory())
    Forecast.objects.update_or_create(surface=surface, defaults={"state": JobState.DONE})

    same = carry_over(organisation=firm, today=TODAY)
    kept = Forecast.objects.get(surface=surface).state
    save_price_list(prices=new_list(firm, methods=only_vacuum("0.51", "200")), by=UserFactory())

    assert not same
    assert kept == JobState.DONE
    assert Forecast.objects.get(surface=surface).state == JobState.WAITING


def test_a_finer_price_is_carried_over_to_what_its_column_has_half_up():
    firm = OrganisationFactory(currency="KWD")

    save_price_list(prices=new_list(firm, methods=only_vacuum("0.12345", "20.005")), by=UserFactory())

    assert (vacuum(firm).cost_per_m2, vacuum(firm).minimum_charge) == (Decimal("0.1235"), Decimal("20.01"))


def test_an_older_list_keeps_its_prices_when_a_new_one_begins():
    firm = OrganisationFactory()
    old = save_price_list(prices=new_list(firm), by=UserFactory())
    before = PriceList.objects.filter(pk=old.pk).values().get()

    save_price_list(prices=new_list(firm, methods=only_vacuum("9", "9")), by=UserFactory())

    assert PriceList.objects.filter(pk=old.pk).values().get() == before


@pytest.mark.parametrize(
    ("name", "value"),
    [("tax_percent", Decimal("100.001")), ("test_price", Decimal("-1")), ("valid_from", None)],
)
def test_a_list_that_cannot_be_stores_nothing(name, value):
    firm = OrganisationFactory()
    made = new_list(firm, **{name: value})
    by = UserFactory()

    with refused(ValidationError, beside=name):
        save_price_list(prices=made, by=by)


def test_a_list_holds_each_price_once_and_says_where_it_has_none():
    prices = only_vacuum("0.50", "200")

    assert prices.of("vacuum").per_m2 == Decimal("0.50")
    assert prices.of("mill") is None

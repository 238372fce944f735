"""Price lists: storing a new one, and having advice reckon with the one in force."""

import logging
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.utils.timezone import now

from accounts.models import Organisation, User
from core.models.rows import validate_and_save
from core.services import jobs
from core.services.records import save_once
from maintenance.models import Forecast, PriceList
from maintenance.selectors.prices import price_list_on
from maintenance.services.cleanings import terms_of
from qa.selectors.days import firm_date, firm_today

log = logging.getLogger(__name__)


@transaction.atomic
def save_price_list(*, prices: PriceList, by: User) -> PriceList:
    """Store a new list; one whose day has come is in force at once. A repeat with one device id gives the first."""
    prices.currency, prices.made_by = prices.organisation.currency, by
    stored = save_once(prices, organisation=prices.organisation_id)
    carry_over(organisation=prices.organisation, today=firm_today(prices.organisation))
    return stored


@transaction.atomic
def carry_over(*, organisation: Organisation, today: date) -> bool:
    """Have advice reckon with the prices in force. Returns whether any of them is new to it.

    The terms of the methods hold a copy, since the comparison of ways of cleaning reads them with the outputs; while a
    list is in force they are written here alone.
    """
    prices = price_list_on(organisation, today)
    if prices is None:
        return False
    changed = [
        _take(row, cost_per_m2=price.per_m2, minimum_charge=price.minimum)
        for method, row in terms_of(organisation).items()
        if (price := prices.methods.of(method))
    ]
    if prices.test_price is not None:
        changed.append(_take(organisation, test_visit_price=prices.test_price))
    if any(changed):
        organisation.prices_given_at = now()
        validate_and_save(organisation, "prices_given_at")
        jobs.requeue(Forecast.objects.filter(surface__site__organisation=organisation))
    return any(changed)


def _take(row: Any, **values: Any) -> bool:
    """Write what differs, to the decimals that the columns have."""
    given = {name: _in_column(row, name, value) for name, value in values.items()}
    if all(getattr(row, name) == value for name, value in given.items()):
        return False
    for name, value in given.items():
        setattr(row, name, value)
    validate_and_save(row, *given)
    return True


def _in_column(row: Any, name: str, value: Decimal) -> Decimal:
    step = Decimal(1).scaleb(-row._meta.get_field(name).decimal_places)
    return value.quantize(step, ROUND_HALF_UP)


def begin_price_lists(at: datetime) -> int:
    """Firms on whose day a list begins have advice reckon with it. Returns how many; one that fails keeps no other."""
    soonest = at.date() + timedelta(days=1)  # the date is nowhere further ahead
    firms = Organisation.objects.filter(price_lists__valid_from__lte=soonest).distinct()
    return sum(_begin(firm, firm_date(firm, at)) for firm in firms)


def _begin(firm: Organisation, today: date) -> bool:
    try:
        return carry_over(organisation=firm, today=today)
    except (ValidationError, DatabaseError, ArithmeticError):
        log.exception("The price list of firm %s could not be taken into its advice.", firm.pk)
        return False

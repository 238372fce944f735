"""Agreements: their term, and what they ask for within it."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from planning.models import Agreement
from planning.services.agreements import save_agreement
from planning.services.commitments import PlannedCommitments

DAY = timedelta(days=1)


def agreed_in(firm, **changes):
    terms = {"tests_per_year": 2, "since": firm.site.today() - 400 * DAY}
    return save_agreement(agreement=Agreement(site=firm.site, **terms | changes))


@pytest.mark.parametrize(("ended", "renews", "asked"), [(0, False, 2), (1, False, 0), (1, True, 2)])
def test_an_agreement_asks_for_nothing_after_its_last_day_unless_it_renews(firm, ended, renews, asked):
    agreed_in(firm, until=firm.site.today() - ended * DAY, renews=renews)

    care = PlannedCommitments().agreed_care(firm.surface)

    assert care.tests_per_year == asked


def test_an_agreement_cannot_end_before_it_begins(firm):
    with pytest.raises(ValidationError, match="cannot end before it begins"):
        agreed_in(firm, until=firm.site.today() - 401 * DAY)


def test_the_price_is_kept_in_the_firms_currency(firm):
    assert agreed_in(firm, price_per_year=900).currency == firm.organisation.currency

"""What a firm's present terms do to the advice that is open."""

from decimal import Decimal

from accounts.models import Organisation
from maintenance.calc.costs import cleaning_cost
from maintenance.calc.price_effect import Effect, Priced, effect_of
from maintenance.models import MethodTerms, Recommendation
from maintenance.selectors.care import plain_terms


def effect_on_advice(organisation: Organisation) -> Effect:
    """How many open pieces of advice to clean or restore change by the terms as they are stored now."""
    terms = {row.method: plain_terms(row) for row in MethodTerms.objects.of_organisation(organisation)}
    rows = Recommendation.objects.of_organisation(organisation).open().exclude(method="")
    listed = rows.filter(surface__removed_on=None, cost__isnull=False)
    stored = listed.values_list("method", "surface__area_m2", "cost", "waiting_costs")
    return effect_of(
        Priced(cost or Decimal(0), cleaning_cost(terms[method], area), waiting)
        for method, area, cost, waiting in stored
        if method in terms
    )

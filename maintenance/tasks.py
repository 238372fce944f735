"""Background work of this app that the clock asks for. The jobs themselves are delivered by `core.tasks`."""

from celery import shared_task
from django.utils.timezone import now

from maintenance.services import forecasts, prices, recommendations


@shared_task
def start_night() -> int:
    """Every night: a fit of every firm, then each forecast once, with it."""
    return forecasts.start_night(now().date())


@shared_task
def return_put_off() -> int:
    """Every hour, since each site has a midnight of its own: what was put off until today is advised again."""
    return recommendations.return_put_off()


@shared_task
def begin_price_lists() -> int:
    """Every hour, as days begin at other times elsewhere: a price list of this day is what advice reckons with."""
    return prices.begin_price_lists(now())

"""Background work: ids in, state in rows, safe to deliver twice."""

from celery import shared_task

from maintenance.services import fits, forecasts


@shared_task
def refresh_surface(surface_id: str) -> str:
    """Make one surface's forecast and advice anew, if its record has changed since."""
    return forecasts.refresh(surface_id)


@shared_task
def fit_portfolio(fit_id: str) -> str:
    """Fit the portfolio parameters of the firm that asked, then refresh its surfaces."""
    return fits.run_fit(fit_id)


@shared_task
def fit_all_portfolios() -> int:
    """Every night: ask for a fit of every firm that has surfaces."""
    return fits.request_all_fits()


@shared_task
def refresh_all() -> int:
    """Every morning: forecasts move to the new day."""
    return forecasts.reset_and_enqueue()


@shared_task
def sweep() -> int:
    """Send again what was left: stale forecasts that nobody holds, and fits that never ended."""
    return forecasts.enqueue_stale() + fits.requeue_orphaned_fits()

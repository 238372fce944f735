"""Background work: ids in, state in rows, safe to deliver twice."""

from celery import shared_task

from maintenance.services import fleet, forecasts


@shared_task
def refresh_surface(surface_id: str) -> str:
    """Make one surface's forecast and advice anew, if its record has changed since."""
    return forecasts.refresh(surface_id)


@shared_task
def fit_fleet(fit_id: str) -> str:
    """Fit the fleet parameters of the firm that asked, then refresh its surfaces."""
    return fleet.run_fit(fit_id)


@shared_task
def fit_all_fleets() -> int:
    """Every night: ask for a fit of every firm that has surfaces."""
    return fleet.ask_all_fits()


@shared_task
def refresh_all() -> int:
    """Every morning: forecasts move to the new day."""
    return forecasts.start_day()


@shared_task
def sweep() -> int:
    """Send again what was left: stale forecasts that nobody holds, and fits that never ended."""
    return forecasts.ask_all_stale() + fleet.ask_left_fits()

"""Fits the portfolio parameters of one firm. The row is the job; the broker is only a nudge."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q
from django.utils.timezone import now

from accounts.models import Organisation
from clogging import api
from clogging.backtest import Backtest, backtest_portfolio
from core.calc.jobs import JobState
from maintenance.calc.backtest_payload import BacktestScores, ForecasterScores
from maintenance.models import PortfolioFit
from maintenance.selectors.histories import portfolio_of
from maintenance.services import forecasts

LEASE = timedelta(minutes=15)  # longer than a task may run
MOST_ATTEMPTS = 3
KEEP_FITS = 30
GIVEN_UP = f"The fit was begun {MOST_ATTEMPTS} times and never ended. Ask for a new one; if it fails too, tell support."


@transaction.atomic
def request_fit(*, organisation: Organisation) -> PortfolioFit:
    """Ask for a fit; one that is already waiting is taken instead of a second."""
    waiting = PortfolioFit.objects.of_organisation(organisation).filter(state=JobState.WAITING).first()
    fit = waiting or PortfolioFit.objects.create(organisation=organisation)
    transaction.on_commit(lambda: _send(fit.pk), robust=True)
    return fit


def request_all_fits() -> int:
    """Ask for a fit of every firm that has surfaces."""
    firms = Organisation.objects.filter(sites__surfaces__isnull=False).distinct()
    return len([request_fit(organisation=firm) for firm in firms])


def requeue_orphaned_fits() -> int:
    """Send waiting fits again, and running ones whose worker died; give up one that kills every worker."""
    dead = PortfolioFit.objects.filter(_orphaned(now()), attempts__gte=MOST_ATTEMPTS)
    dead.update(state=JobState.FAILED, error=GIVEN_UP, finished_at=now())
    left = PortfolioFit.objects.filter(_free(now()))
    for fit in left:
        _send(fit.pk)
    return len(left)


def run_fit(fit_id: UUID | str) -> str:
    """Fit, store, refresh the firm's surfaces. A second delivery does nothing."""
    claimed_at = _claim(fit_id)
    if claimed_at is None:
        return "not ours"
    mine = PortfolioFit.objects.filter(pk=fit_id, state=JobState.RUNNING, claimed_at=claimed_at)
    organisation = PortfolioFit.objects.select_related("organisation").get(pk=fit_id).organisation
    try:
        histories = [recorded.history for recorded in portfolio_of(organisation)]
        fitted, backtest = api.fit_portfolio(histories), backtest_portfolio(histories)
    except Exception as error:
        mine.update(state=JobState.FAILED, error=str(error), finished_at=now())
        raise
    if not mine.update(**_outcome(fitted, backtest)):
        return "lease lost"
    _forget_old(organisation)
    forecasts.refresh_firm(organisation)
    return "done"


def _outcome(fitted: api.PortfolioFit, backtest: Backtest | None) -> dict[str, object]:
    return {
        "state": JobState.DONE,
        "result": fitted.to_dict(),
        "backtest_json": scores_of(backtest).to_json() if backtest else None,
        "converged": fitted.converged,
        "message": fitted.message,
        "surfaces": fitted.n_surfaces,
        "tests": fitted.n_tests,
        "finished_at": now(),
        "error": "",
    }


def scores_of(backtest: Backtest) -> BacktestScores:
    """A backtest as it is kept."""
    return BacktestScores(backtest.surfaces, tuple(ForecasterScores(*one) for one in backtest.forecasters))


def _claim(fit_id: UUID | str) -> datetime | None:
    """One conditional update decides the winner, so two deliveries cannot both work."""
    claimed_at = now()
    won = PortfolioFit.objects.filter(_free(claimed_at), pk=fit_id).update(
        state=JobState.RUNNING, claimed_at=claimed_at, attempts=F("attempts") + 1
    )
    return claimed_at if won else None


def _free(at: datetime) -> Q:
    waiting = Q(state=JobState.WAITING)
    return (waiting | _orphaned(at)) & Q(attempts__lt=MOST_ATTEMPTS)


def _orphaned(at: datetime) -> Q:
    return Q(state=JobState.RUNNING, claimed_at__lt=at - LEASE)


def _forget_old(organisation: Organisation) -> None:
    done = PortfolioFit.objects.of_organisation(organisation).filter(
        state__in=[JobState.DONE, JobState.FAILED]
    )
    old = done.order_by("-created_at").values_list("pk", flat=True)[KEEP_FITS:]
    PortfolioFit.objects.filter(pk__in=list(old)).delete()


def _send(fit_id: UUID) -> None:
    from maintenance.tasks import fit_portfolio  # tasks import this module

    fit_portfolio.delay(str(fit_id))

"""Fits the portfolio parameters of one firm: asking for it, and the work itself."""

from collections.abc import Iterable
from datetime import date, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import OuterRef, Q, Subquery, Sum
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import override

from accounts.models import Organisation
from clogging import api
from clogging.backtest import Backtest, backtest_portfolio
from clogging.priors import SCHEMA
from core.calc.format import counted
from core.calc.jobs import JobState
from core.errors import UnusableRecordError
from core.services import jobs
from maintenance.calc.backtest_payload import BacktestScores, ForecasterScores
from maintenance.models import Forecast, PortfolioFit
from maintenance.selectors.histories import portfolio_of
from qa.models import Surface

KEEP_FITS = 30
# Judgements of ours: a night keeps the last parameters while what was recorded since is less than this share of the
# tests they were made from. On invented portfolios a fit with so much more moved the rate of a surface without a new
# record by less than 2 % (tests/maintenance/services/test_nights.py).
MOST_NEW = 0.05
LONGEST_KEPT = timedelta(days=30)
KEPT = (
    "result",
    "backtest_json",
    "converged",
    "message",
    "surfaces",
    "tests",
    "evidence",
    "fitted_at",
)
STEPS = 3


@transaction.atomic
def request_fit(*, organisation: Organisation, night: date | None = None) -> PortfolioFit:
    """Ask for a fit; one that is already waiting is taken instead of a second.

    night: whose fit it is to be. A night that has its fit is given that one, done or not.
    """
    _lock(organisation)
    rows = PortfolioFit.objects.of_organisation(organisation)
    fit = rows.filter(night=night).first() if night else None
    if fit is None:
        fit = rows.filter(state=JobState.WAITING).first() or PortfolioFit(
            organisation=organisation, anew=False
        )
        fit.night = night or fit.night
        fit.anew = fit.anew or night is None
        fit.save()
    jobs.nudge(fit)
    return fit


def request_nightly_fits(night: date) -> int:
    """Ask for the night's fit of every firm that has surfaces; those that have it are left alone."""
    asked = PortfolioFit.objects.filter(night=night).values("organisation")
    firms = Organisation.objects.filter(sites__surfaces__isnull=False).exclude(pk__in=asked).distinct()
    return len([request_fit(organisation=firm, night=night) for firm in firms])


def replace_outdated_fits() -> int:
    """Ask for a new fit of every firm whose newest one was stored by another edition of the model."""
    newest = PortfolioFit.objects.filter(organisation=OuterRef("organisation")).order_by("-created_at")
    rows = PortfolioFit.objects.filter(state=JobState.DONE, pk=Subquery(newest.values("pk")[:1]))
    outdated = rows.filter(~Q(result__schema=SCHEMA) | Q(result__schema__isnull=True)).defer("result")
    return len([replace_outdated_fit(outdated=fit) for fit in outdated.select_related("organisation")])


@transaction.atomic
def replace_outdated_fit(*, outdated: PortfolioFit) -> PortfolioFit | None:
    """Ask for a new fit in place of one that cannot be read, once for all who find it so.

    None where a newer one was asked for already: it is to come, or it failed and asking again would be no better.
    """
    organisation = outdated.organisation
    _lock(organisation)
    newest = PortfolioFit.objects.of_organisation(organisation).order_by("-created_at").first()
    return request_fit(organisation=organisation) if newest == outdated else None


def _lock(organisation: Organisation) -> None:
    # The firm's row is the lock: whoever asks at the same moment queues here and finds what was asked.
    Organisation.objects.select_for_update(no_key=True).get(pk=organisation.pk)


def run_fit(fit_id: UUID | str) -> jobs.Outcome:
    """Do one fit, if it is to be done and nobody is at it."""
    return jobs.run(PortfolioFit._meta.label, fit_id)


@jobs.works_on(PortfolioFit, before_sweep=replace_outdated_fits)
def fit_portfolio(fit: PortfolioFit, claim: jobs.Claim) -> None:
    """Fit or keep to the last, store, have the firm's forecasts brought to the day; also where no fit can be made."""
    organisation = fit.organisation
    evidence = evidence_of(organisation)  # before the records are read: what comes meanwhile counts as new
    kept = None if fit.anew else _kept(organisation, evidence)
    if kept:
        claim.finish(**{name: getattr(kept, name) for name in KEPT}, kept_from=kept.parameters_of)
    else:
        with override(organisation.language):  # its people read how far it is
            _fit(organisation, claim, evidence)
    _forget_old(organisation)
    jobs.nudge_wanted(Forecast.objects.of_organisation(organisation))


def evidence_of(organisation: Organisation) -> int:
    """Rises with whatever is recorded of a firm's surfaces, also of removed ones."""
    rows = Surface.objects.of_organisation(organisation)
    return int(rows.aggregate(versions=Sum("record_version"))["versions"] or 0)


def _kept(organisation: Organisation, evidence: int) -> PortfolioFit | None:
    """The last fit, where its parameters still serve: hardly anything is new, or nothing at all, and it is of late.

    A surface's own newest record is in its forecast in any case; what is kept is what the firm's surfaces say of each
    other, which a few records among hundreds hardly move.
    """
    last = PortfolioFit.objects.of_organisation(organisation).ended().order_by("-finished_at").first()
    if last is None or last.state != JobState.DONE or not last.fitted_at:
        return None
    new = abs(evidence - last.evidence)
    is_old = last.fitted_at < now() - LONGEST_KEPT and new > 0
    is_readable = (last.result or {}).get("schema") == SCHEMA
    return last if is_readable and not is_old and new <= MOST_NEW * last.tests else None


def _fit(organisation: Organisation, claim: jobs.Claim, evidence: int) -> None:
    try:
        claim.progress(0, STEPS, _("reading the records"))
        histories = [recorded.history for recorded in portfolio_of(organisation)]
        fitting = _("fitting {surfaces}").format(surfaces=counted(len(histories), "surface"))
        claim.progress(1, STEPS, fitting)
        fitted = api.fit_portfolio(histories)
        claim.progress(2, STEPS, _("judging it by the newest rounds"))
        made = {"evidence": evidence, "fitted_at": now(), "kept_from": None}
        claim.finish(**_columns(fitted, backtest_portfolio(histories)), **made)
    except UnusableRecordError as error:
        claim.fail(str(error))


def _columns(fitted: api.PortfolioFit, backtest: Backtest | None) -> dict[str, object]:
    return {
        "result": fitted.to_dict(),
        "backtest_json": scores_of(backtest).to_json() if backtest else None,
        "converged": fitted.converged,
        "message": fitted.message,
        "surfaces": fitted.n_surfaces,
        "tests": fitted.n_tests,
    }


def scores_of(backtest: Backtest) -> BacktestScores:
    """A backtest as it is kept."""
    return BacktestScores(backtest.surfaces, tuple(ForecasterScores(*one) for one in backtest.forecasters))


def _forget_old(organisation: Organisation) -> None:
    ended = PortfolioFit.objects.of_organisation(organisation).ended()
    old: Iterable[UUID] = ended.order_by("-created_at").values_list("pk", flat=True)[KEEP_FITS:]
    PortfolioFit.objects.filter(pk__in=list(old)).delete()

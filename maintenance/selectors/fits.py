"""Which portfolio parameters a firm's forecasts are made with."""

from dataclasses import dataclass
from functools import lru_cache
from uuid import UUID

from django.db.models import F

from accounts.models import Organisation
from clogging import api
from core.errors import OutdatedFitError, UnusableRecordError
from maintenance.calc.vocabulary import ForecastBasis
from maintenance.models import PortfolioFit
from maintenance.selectors.histories import histories_of
from qa.models import Surface

YOUNG_PORTFOLIO = 12  # surfaces


@dataclass(frozen=True, slots=True)
class FitAtHand:
    """Parameters to forecast with, and what they rest on. `row` is the stored fit, where there is one."""

    parameters: api.PortfolioFit
    rests_on: ForecastBasis
    row: PortfolioFit | None = None

    @property
    def made_on_the_spot(self) -> bool:
        """Whether the parameters have learned from the newest records themselves, as those of a young portfolio."""
        return self.row is None and self.rests_on is ForecastBasis.RECORDS


def stored_fit(organisation: Organisation) -> FitAtHand:
    """The firm's newest fit; the priors alone before the first, and while the newest is of another edition."""
    row = PortfolioFit.objects.defer("result").newest_done(organisation)
    if row is None:
        return FitAtHand(api.prior_fit(), ForecastBasis.PUBLISHED)
    try:
        return FitAtHand(_read_fit(row.pk), ForecastBasis.RECORDS, row)
    except OutdatedFitError:
        return FitAtHand(api.prior_fit(), ForecastBasis.OUTDATED, row)


@lru_cache(maxsize=64)
def _read_fit(fit_id: UUID) -> api.PortfolioFit:
    # A finished fit never changes, so its draws are worth keeping in the process.
    return api.PortfolioFit.from_dict(PortfolioFit.objects.get(pk=fit_id).result or {})


def current_fit(organisation: Organisation) -> FitAtHand:
    """The fit to forecast a firm's surfaces with: of a young portfolio made anew on the spot, else the stored one.

    In a portfolio of a few surfaces one round changes much of what is known of all, and a fit takes some hundredths of
    a second; in a larger one the night's fit is as good and the work is not.
    """
    portfolio = Surface.objects.of_organisation(organisation).select_related("site")[: YOUNG_PORTFOLIO + 1]
    if len(portfolio) > YOUNG_PORTFOLIO:
        return stored_fit(organisation)
    try:
        fitted = api.fit_portfolio([recorded.history for recorded in histories_of(portfolio)])
    except UnusableRecordError:  # the record of another surface that cannot be must not stop this one
        return stored_fit(organisation)
    return FitAtHand(fitted, ForecastBasis.RECORDS)


def fit_name(organisation: Organisation) -> str:
    """A name for the parameters of `current_fit`; of a young portfolio, for the records they are made from.

    To be read before the parameters are: what changes in between is then found changed.
    """
    firm = Surface.objects.of_organisation(organisation)
    versions = list(firm.values_list("pk", "record_version")[: YOUNG_PORTFOLIO + 1])
    if len(versions) <= YOUNG_PORTFOLIO:
        return " ".join(f"{pk} {version}" for pk, version in sorted(versions))
    row = PortfolioFit.objects.defer("result", "backtest_json").newest_done(organisation)
    return str(row.parameters_of) if row else ""


def latest_fit(organisation: Organisation) -> PortfolioFit | None:
    """The fit that is being made or waits to be, the one begun first; else the one that ended last."""
    rows = PortfolioFit.objects.of_organisation(organisation).defer("result")
    unfinished = rows.unfinished().order_by(F("started_at").asc(nulls_last=True), "created_at").first()
    return unfinished or rows.order_by("-finished_at").first()

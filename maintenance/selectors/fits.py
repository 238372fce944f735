"""Which portfolio parameters a firm's forecasts are made with."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from uuid import UUID

from django.db.models import F

from accounts.models import Organisation
from clogging import api
from core.calc.jobs import JobState
from core.errors import OutdatedFitError, UnusableRecordError
from maintenance.calc.vocabulary import ForecastBasis
from maintenance.models import PortfolioFit
from maintenance.selectors.histories import Recorded, histories_of, marked
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
    return _at_hand(PortfolioFit.objects.defer("result", "backtest_json").newest_done(organisation))


def _at_hand(row: PortfolioFit | None) -> FitAtHand:
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


class FirmFits:
    """What a firm's forecasts are made with, read in a query, and in some more of a young portfolio.

    newest_ended: the fit that ended last, well or not. To be made before the records are read: what changes in between
    is then found changed.
    """

    def __init__(self, organisation: Organisation) -> None:
        self.newest_ended, self._done = _newest(organisation)
        surfaces = [] if _is_of_many(self._done) else _some(organisation)
        self._young = surfaces if len(surfaces) <= YOUNG_PORTFOLIO else []

    @property
    def name(self) -> str:
        """A name for the parameters; of a young portfolio, for the records they are made from."""
        if self._young:
            return " ".join(f"{pk} {version}" for pk, version in sorted(_versions(self._young)))
        return str(self._done.parameters_of) if self._done else ""

    @cached_property
    def young(self) -> list[Recorded]:
        """The records of a young portfolio; none of a grown one. Raises UnusableRecordError."""
        return histories_of(self._young) if self._young else []

    def at_hand(self) -> FitAtHand:
        """The fit to forecast with: of a young portfolio made anew on the spot, else the stored one.

        In a portfolio of a few surfaces one round changes much of what is known of all, and a fit takes some hundredths
        of a second; in a larger one the night's fit is as good and the work is not.
        """
        if not self._young:
            return _at_hand(self._done)
        try:
            fitted = api.fit_portfolio([recorded.history for recorded in self.young])
        except UnusableRecordError:  # the record of another surface that cannot be must not stop this one
            return _at_hand(self._done)
        return FitAtHand(fitted, ForecastBasis.RECORDS)


def _is_of_many(fit: PortfolioFit | None) -> bool:
    """Whether a firm with such a fit is grown: its surfaces stay among its records when they are removed."""
    return fit is not None and fit.surfaces > YOUNG_PORTFOLIO


def _some(organisation: Organisation) -> list[Surface]:
    """The surfaces of a young portfolio, or one more."""
    firm = marked(Surface.objects.of_organisation(organisation).select_related("site"))
    return list(firm[: YOUNG_PORTFOLIO + 1])


def _versions(surfaces: Iterable[Surface]) -> list[tuple[UUID, int]]:
    return [(surface.pk, surface.record_version) for surface in surfaces]


def _newest(organisation: Organisation) -> tuple[UUID | None, PortfolioFit | None]:
    """The fit that ended last, and the last that ended well."""
    ended = PortfolioFit.objects.of_organisation(organisation).ended().order_by("-finished_at")
    newest = list(ended.defer("result", "backtest_json")[:1])
    if not newest or newest[0].state == JobState.DONE:
        return (newest[0].pk, newest[0]) if newest else (None, None)
    return newest[0].pk, PortfolioFit.objects.defer("result", "backtest_json").newest_done(organisation)


def latest_fit(organisation: Organisation) -> PortfolioFit | None:
    """The fit that is being made or waits to be, the one begun first; else the one that ended last."""
    rows = PortfolioFit.objects.of_organisation(organisation).defer("result")
    unfinished = rows.unfinished().order_by(F("started_at").asc(nulls_last=True), "created_at").first()
    return unfinished or rows.order_by("-finished_at").first()

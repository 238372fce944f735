"""What forecasts are made from, read for many surfaces at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from accounts.models import Organisation
from core.calc.paving import CleaningMethod
from core.errors import UnusableRecordError
from maintenance.calc.costs import Terms
from maintenance.models import Forecast, PortfolioFit
from maintenance.selectors.bases import basis_of
from maintenance.selectors.care import offered_terms
from maintenance.selectors.fits import FitAtHand, current_fit, fit_name
from maintenance.selectors.histories import Recorded, histories_of
from maintenance.services.cleanings import terms_of
from maintenance.services.commitments import commitments
from qa.models import InspectionFinding, Surface
from qa.selectors.inspections import open_sediment_findings


@dataclass(frozen=True, slots=True)
class Known:
    """Of one surface. made_from: the columns that say from which record and after which fit it is made.

    basis: a digest of all that it is made from but the day; sediment: the oldest open finding of it. refused: why the
    record cannot be read, where it cannot.
    """

    surface: Surface
    made_from: dict[str, Any]
    recorded: Recorded | None
    fit: FitAtHand
    terms: dict[CleaningMethod, Terms]
    sediment: InspectionFinding | None
    basis: str
    refused: UnusableRecordError | None = None

    def history(self) -> Recorded:
        """The record as the model reads it. Raises UnusableRecordError where it cannot."""
        if self.recorded is None:
            raise self.refused or UnusableRecordError(_("The record of this surface cannot be read."))
        return self.recorded


@dataclass(frozen=True, slots=True)
class _OfFirm:
    """What all surfaces of a firm share."""

    newest_ended: UUID | None
    fit_name: str
    fit: FitAtHand
    terms: dict[CleaningMethod, Terms]


def gather(forecasts: Sequence[Forecast]) -> dict[UUID, Known]:
    """What each is made from, by its id, in as many queries for many surfaces of a firm as for one."""
    joined = Surface.objects.select_related("site__organisation", "site__owner")
    surfaces = joined.in_bulk([forecast.surface_id for forecast in forecasts])
    listed = list(surfaces.values())
    commitments().match_records(listed)
    # Read before the record and the fit: what changes meanwhile is found newer.
    newest = {firm: newest_ended(firm) for firm in {surface.organisation for surface in listed}}
    commitments().look_up(listed)
    firms = {firm.pk: _of_firm(firm, ended) for firm, ended in newest.items()}
    findings = open_sediment_findings(listed)
    recorded = _recorded(listed)
    return {
        forecast.pk: _known(
            surface, firms[surface.organisation.pk], recorded[surface.pk], findings.get(surface.pk)
        )
        for forecast in forecasts
        if (surface := surfaces.get(forecast.surface_id))
    }


def newest_ended(firm: Organisation) -> UUID | None:
    """The fit of a firm that ended last, well or not."""
    ended = PortfolioFit.objects.of_organisation(firm).ended().order_by("-finished_at")
    return ended.values_list("pk", flat=True).first()


def _of_firm(firm: Organisation, ended: UUID | None) -> _OfFirm:
    return _OfFirm(ended, fit_name(firm), current_fit(firm), offered_terms(terms_of(firm)))


def _recorded(surfaces: Sequence[Surface]) -> dict[UUID, Recorded | UnusableRecordError]:
    """The record of each, or why it cannot be read; one that cannot does not stop the others."""
    try:
        return {recorded.surface.pk: recorded for recorded in histories_of(surfaces)}
    except UnusableRecordError:
        return {surface.pk: _one_recorded(surface) for surface in surfaces}


def _one_recorded(surface: Surface) -> Recorded | UnusableRecordError:
    try:
        return histories_of([surface])[0]
    except UnusableRecordError as error:
        return error


def _known(
    surface: Surface,
    firm: _OfFirm,
    recorded: Recorded | UnusableRecordError,
    sediment: InspectionFinding | None,
) -> Known:
    made_from = {
        "made_from_version": surface.record_version,
        "made_on": surface.site.today(),
        "after_fit": firm.newest_ended,
    }
    agreed = commitments().agreed_care(surface)
    basis = basis_of(surface, firm.fit_name, firm.terms, agreed, sediment)
    read, refused = (None, recorded) if isinstance(recorded, UnusableRecordError) else (recorded, None)
    return Known(surface, made_from, read, firm.fit, firm.terms, sediment, basis, refused)

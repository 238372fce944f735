"""What forecasts are made from, read for many surfaces at once."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet
from django.utils.translation import gettext as _

from accounts.models import Organisation
from core.calc.paving import CleaningMethod
from core.errors import UnusableRecordError
from maintenance.calc.costs import Terms
from maintenance.models import Forecast
from maintenance.selectors.bases import basis_of
from maintenance.selectors.care import offered_terms
from maintenance.selectors.fits import FirmFits, FitAtHand
from maintenance.selectors.histories import Recorded, histories_of, marked
from maintenance.services.cleanings import terms_of
from maintenance.services.commitments import commitments
from qa.calc.inspections import InspectionItem
from qa.models import InspectionFinding, Surface
from qa.selectors.inspections import open_sediment_findings

HAS_SEDIMENT = "has_sediment_finding"


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


def gather(forecasts: Sequence[Forecast]) -> dict[UUID, Known]:
    """What each is made from, by its id, in as many queries for many surfaces of a firm as for one."""
    surfaces = _to_be_read().in_bulk([forecast.surface_id for forecast in forecasts])
    listed = list(surfaces.values())
    commitments().match_records(listed)
    # Read before the record and the fit: what changes meanwhile is found newer.
    firms = {firm.pk: _OfFirm(firm) for firm in {surface.organisation for surface in listed}}
    commitments().look_up(listed)
    sedimented = [surface for surface in listed if getattr(surface, HAS_SEDIMENT)]
    findings = open_sediment_findings(sedimented) if sedimented else {}
    recorded = _recorded(listed, firms.values())
    return {
        forecast.pk: _known(
            surface, firms[surface.organisation.pk], recorded[surface.pk], findings.get(surface.pk)
        )
        for forecast in forecasts
        if (surface := surfaces.get(forecast.surface_id))
    }


def _to_be_read() -> QuerySet[Surface]:
    """Surfaces with all that hangs on one, and marks of what they have none of, which is then not asked for."""
    found = InspectionFinding.objects.filter(item=InspectionItem.SEDIMENT, inspection__surface=OuterRef("pk"))
    joined = Surface.objects.select_related("site__organisation", "site__owner", "outline")
    return commitments().read_with(marked(joined).annotate(**{HAS_SEDIMENT: Exists(found)}))


class _OfFirm:
    """What all surfaces of a firm share."""

    def __init__(self, firm: Organisation) -> None:
        self.fits = FirmFits(firm)
        self.fit, self.terms = self.fits.at_hand(), offered_terms(terms_of(firm))

    def young(self) -> list[Recorded]:
        """The records that the fit of a young portfolio was made from; none where one of them cannot be read."""
        try:
            return self.fits.young
        except UnusableRecordError:
            return []


def _recorded(
    surfaces: Sequence[Surface], firms: Iterable[_OfFirm]
) -> dict[UUID, Recorded | UnusableRecordError]:
    """The record of each, or why it cannot be read; one that cannot does not stop the others."""
    read = {one.surface.pk: one for firm in firms for one in firm.young()}
    known: dict[UUID, Recorded | UnusableRecordError] = {
        s.pk: replace(read[s.pk], surface=s) for s in surfaces if s.pk in read
    }
    left = [surface for surface in surfaces if surface.pk not in read]
    try:
        return known | {recorded.surface.pk: recorded for recorded in histories_of(left)}
    except UnusableRecordError:
        return known | {surface.pk: _one_recorded(surface) for surface in left}


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
        "after_fit_id": firm.fits.newest_ended,
    }
    agreed = commitments().agreed_care(surface)
    basis = basis_of(surface, firm.fits.name, firm.terms, agreed, sediment)
    read, refused = (None, recorded) if isinstance(recorded, UnusableRecordError) else (recorded, None)
    return Known(surface, made_from, read, firm.fit, firm.terms, sediment, basis, refused)

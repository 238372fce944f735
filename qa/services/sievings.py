"""Everything done to sievings and to the firm's own bands."""

from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from accounts.models import User
from core.errors import NotAllowedNowError, UnusableRecordError
from core.services.records import find_by_device_id, replace_record, save_idempotent, save_once, void_record
from qa.calc.gradation import BandLimits, data_quality_notes
from qa.models import OwnBand, Sieving
from qa.selectors.gradation import analysis_of
from qa.services.days import refuse_future

WAS_TAKEN = gettext_noop("Enter the day the sample was taken.")
OTHER_LAYER = gettext_noop("%(layer)s is not a layer of this surface. Choose one of its layers.")
OTHER_FIRM = gettext_noop("%(band)s is a band of another firm. Choose one of your own.")
IN_USE = gettext_noop(
    "%(count)d sample(s) were checked against %(band)s, so its sieves stay as they are. "
    "Retire it and add a new one."
)
TOO_FEW = gettext_noop("A sieve analysis needs at least 2 sieves, got %(count)d. Enter more of the sheet.")


@transaction.atomic
def record_sieving(*, sieving: Sieving, by: User) -> Sieving:
    """Store a sieve analysis. Raises ValidationError; a repeat with the same device id gives the first row."""
    first = find_by_device_id(sieving, surface=sieving.surface_id)
    if first:
        return first
    _check(sieving)
    sieving.recorded_by = by
    return save_idempotent(sieving, surface=sieving.surface_id)


@transaction.atomic
def correct_sieving(*, old: Sieving, new: Sieving, by: User, reason: str) -> Sieving:
    """Store the corrected analysis in place of the old one, which stays readable."""
    first = find_by_device_id(new, replaces=old)
    if first:
        return first
    new.surface = old.surface
    _check(new)
    replace_record(old=old, new=new, by=by, reason=reason)
    return new


@transaction.atomic
def void_sieving(*, sieving: Sieving, by: User, reason: str) -> Sieving:
    """Keep a sieve analysis out of checks, with the reason."""
    return void_record(fact=sieving, by=by, reason=reason)


def _check(sieving: Sieving) -> None:
    surface, layer, own = sieving.surface, sieving.layer, sieving.own_band
    refuse_future(surface.site, "sampled_on", sieving.sampled_on, _(WAS_TAKEN))
    if layer and layer.surface_id != surface.pk:
        raise ValidationError({"layer": ValidationError(_(OTHER_LAYER), params={"layer": layer})})
    if own and own.organisation_id != surface.site.organisation_id:
        raise ValidationError(_(OTHER_FIRM), params={"band": own})
    sieves = len(sieving.readings.rows)
    if sieves < 2:
        raise ValidationError(_(TOO_FEW), params={"count": sieves})
    if layer:
        with override(surface.organisation.language):  # it stays when the layer goes
            sieving.layer_name = layer.name[:160]
    _refuse_impossible(sieving)


def _refuse_impossible(sieving: Sieving) -> None:
    try:
        passing = analysis_of(sieving).passing
        problems = data_quality_notes(passing)
    except UnusableRecordError as error:
        raise ValidationError(str(error), code="impossible_reading") from error
    if problems:
        raise ValidationError(problems, code="impossible_reading")


@transaction.atomic
def save_own_band(*, band: OwnBand, limits: Sequence[tuple[float, float, float]]) -> OwnBand:
    """Store an own band; its sieves stay once a sample was checked against them."""
    new = BandLimits(tuple(sorted(limits, reverse=True)))
    if not band._state.adding:
        OwnBand.objects.select_for_update().get(pk=band.pk)  # nobody sieves against it meanwhile
    used = band.sievings.count() if not band._state.adding else 0
    if used and new != band.limits:
        raise NotAllowedNowError(_(IN_USE) % {"count": used, "band": band})
    band.limits = new
    try:
        _usable = band.as_band
    except UnusableRecordError as error:
        raise ValidationError(str(error), code="impossible_band") from error
    return save_once(band, "name", "source", "limits_json", organisation=band.organisation_id)


@transaction.atomic
def retire_own_band(*, band: OwnBand, retired: bool = True) -> OwnBand:
    """Offer an own band no longer, or again. Samples checked against it keep it."""
    band.retired = retired
    band.save(update_fields=["retired"])
    return band

"""Everything done to cleaning events and to the terms of cleaning methods."""

from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import Organisation, User
from core.calc.format import day as day_words
from core.calc.paving import CleaningMethod
from core.models.rows import validate_and_save
from core.services import jobs
from core.services.files import keep_files
from core.services.records import find_by_device_id, replace_record, save_idempotent, void_record
from core.services.uploads import Sent
from maintenance.calc.cleaning_record import ASKED_BY, not_asked
from maintenance.calc.costs import DEFAULT_TERMS
from maintenance.models import CleaningAttachment, CleaningEvent, Forecast, MethodTerms
from maintenance.services.commitments import commitments
from qa.services.changes import bump_record_version
from qa.services.days import refuse_future

OR_PLAN = gettext_noop("Enter the day the cleaning was done, or plan a visit instead.")
NOT_OF_METHOD = gettext_noop(
    "It does not belong to this way of cleaning: %(method)s. Empty it, or choose the way that was used."
)
BEFORE_OPENING = gettext_noop("%(day)s is before the surface opened on %(opened)s. Check both dates.")


@transaction.atomic
def record_cleaning(*, event: CleaningEvent, by: User) -> CleaningEvent:
    """Store a cleaning. A repeat with the same device id gives the first row."""
    first = find_by_device_id(event, surface=event.surface_id)
    if first:
        return first
    _complete(event)
    event.recorded_by = by
    stored = save_idempotent(event, surface=event.surface_id)
    bump_record_version(event.surface_id)
    return stored


@transaction.atomic
def correct_cleaning(*, old: CleaningEvent, new: CleaningEvent, by: User, reason: str) -> CleaningEvent:
    """Store the corrected cleaning in place of the old one, which stays readable."""
    first = find_by_device_id(new, replaces=old)
    if first:
        return first
    new.surface = old.surface
    _complete(new)
    replace_record(old=old, new=new, by=by, reason=reason)
    commitments().follow_correction(old, new)
    CleaningAttachment.objects.filter(cleaning=old).update(cleaning=new)
    bump_record_version(old.surface_id)
    return new


@transaction.atomic
def void_cleaning(*, event: CleaningEvent, by: User, reason: str) -> CleaningEvent:
    """Keep a cleaning out of forecasts, with the reason."""
    void_record(fact=event, by=by, reason=reason)
    bump_record_version(event.surface_id)
    return event


@transaction.atomic
def attach_to_cleaning(*, event: CleaningEvent, sent: Sent, by: User) -> list[CleaningAttachment]:
    """Store photos or PDFs beside a cleaning."""
    return keep_files(lambda: CleaningAttachment(cleaning=event), sent=sent, by=by, cleaning=event)


def _complete(event: CleaningEvent) -> None:
    surface, day = event.surface, event.cleaned_on
    event.currency = surface.organisation.currency
    _refuse_what_the_method_has_not(event)
    refuse_future(surface.site, "cleaned_on", day, _(OR_PLAN))
    if day < surface.opened_on:
        params = {"day": day_words(day), "opened": day_words(surface.opened_on)}
        raise ValidationError({"cleaned_on": ValidationError(_(BEFORE_OPENING), params=params)})


def _refuse_what_the_method_has_not(event: CleaningEvent) -> None:
    given = {name: getattr(event, name) for name in ASKED_BY}
    odd = not_asked(CleaningMethod(event.method), given)
    if odd:
        params = {"method": event.get_method_display()}
        raise ValidationError({name: ValidationError(_(NOT_OF_METHOD), params=params) for name in odd})


def terms_of(organisation: Organisation) -> dict[str, MethodTerms]:
    """The firm's terms by method; missing ones are stored from the defaults."""
    have = {terms.method: terms for terms in MethodTerms.objects.of_organisation(organisation)}
    missing = [_default_terms(organisation, m) for m in CleaningMethod if m not in have]
    if missing:
        MethodTerms.objects.bulk_create(missing, ignore_conflicts=True)
        have = {terms.method: terms for terms in MethodTerms.objects.of_organisation(organisation)}
    return have


def _default_terms(organisation: Organisation, method: CleaningMethod) -> MethodTerms:
    start = DEFAULT_TERMS[method]
    return MethodTerms(
        organisation=organisation,
        method=method.value,
        cost_per_m2=Decimal(start.cost_per_m2),
        minimum_charge=Decimal(start.minimum_charge),
        output_m2_h=start.output_m2_h,
        foot_after_h=start.foot_after_h,
        vehicles_after_h=start.vehicles_after_h,
    )


@transaction.atomic
def save_terms(*, rows: list[MethodTerms], organisation: Organisation | None = None) -> None:
    """Store changed terms. Raises ValidationError; all or none are stored.

    organisation: where the price of its test visits is to be stored too, and that its prices were given: the forecasts
    of its surfaces are then made anew, since advice rests on them.
    """
    for row in rows:
        validate_and_save(row)
    if organisation is not None:
        organisation.prices_given_at = now()
        validate_and_save(organisation, "test_visit_price", "prices_given_at")
        jobs.requeue(Forecast.objects.filter(surface__site__organisation=organisation))

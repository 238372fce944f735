"""Marking a source as verified, and taking that back."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.timezone import localdate
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from core.calc.format import day
from core.services.records import find_by_device_id, replace_record, save_once, void_record
from reporting.models import VerifiedSource

FUTURE = gettext_noop("%(day)s is in the future. Enter the day on which it was held against the document.")
ANEW = gettext_noop("Verified anew.")
NO_SOURCE = gettext_noop("Open the source on the page of sources first: nothing says which one is meant.")


@transaction.atomic
def verify_source(*, verified: VerifiedSource, by: User) -> VerifiedSource:
    """Store it; what was verified of the same source before stays readable as replaced. A repeat gives the first row.

    Raises ValidationError.
    """
    if not verified.citation:  # a column that no form fills: the model's own check passes over it
        raise ValidationError({"edition": _(NO_SOURCE)})
    if verified.verified_on > localdate():
        raise ValidationError(
            {"verified_on": ValidationError(_(FUTURE), params={"day": day(verified.verified_on)})}
        )
    stored = find_by_device_id(verified, organisation=verified.organisation_id)
    if stored is not None:
        return stored
    verified.recorded_by = by
    before = VerifiedSource.objects.of_organisation(verified.organisation).active()
    old = before.filter(citation=verified.citation).first()
    if old is None:
        return save_once(verified, organisation=verified.organisation_id)
    return replace_record(old=old, new=verified, by=by, reason=_(ANEW))


@transaction.atomic
def withdraw_verification(*, verified: VerifiedSource, by: User, reason: str) -> VerifiedSource:
    """Have documents say again that the firm has not checked it. Raises ValidationError."""
    return void_record(fact=verified, by=by, reason=reason)

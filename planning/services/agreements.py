"""Everything done to agreements."""

from django.db import transaction

from core.models.rows import validate_and_save
from planning.models import Agreement
from qa.services.changes import bump_record_version


@transaction.atomic
def save_agreement(*, agreement: Agreement) -> Agreement:
    """Store what the owner bought; the site's advice is made anew."""
    agreement.currency = agreement.site.organisation.currency
    validate_and_save(agreement)
    for surface in agreement.site.surfaces.all():
        bump_record_version(surface.pk)
    return agreement

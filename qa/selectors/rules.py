"""The firm's own limits and bands, with what uses them."""

from django.db.models import Count, QuerySet

from accounts.models import Organisation
from qa.models import OwnBand, OwnLimit


def own_bands(organisation: Organisation) -> QuerySet[OwnBand]:
    """The firm's own bands with the number of samples held to each, as `used`."""
    return OwnBand.objects.of_organisation(organisation).annotate(used=Count("sievings"))


def own_limits(organisation: Organisation) -> QuerySet[OwnLimit]:
    """The firm's own limits with the number of surfaces that use each, as `used`."""
    return OwnLimit.objects.of_organisation(organisation).annotate(used=Count("surfaces"))

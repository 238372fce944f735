"""Who acts, for services that are not told: as the histories of rows know it."""

from simple_history.models import HistoricalRecords


def acting_person() -> int | None:
    """The id of whoever sent the request that is answered now; None for work that the clock asked for."""
    request = getattr(HistoricalRecords.context, "request", None)
    user = getattr(request, "user", None)
    return user.pk if user is not None and user.is_authenticated else None

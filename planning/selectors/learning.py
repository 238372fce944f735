"""Cleanings of a firm with the rounds about them, in a constant number of queries."""

from collections import defaultdict
from collections.abc import Sequence
from contextlib import suppress
from typing import Any

from django.db.models import QuerySet
from django.db.models.fields.json import KT

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from core.calc.payload import from_text
from core.errors import UnreadablePayloadError
from maintenance.calc.forecast_payload import ForecastOutlook, RoundAgainstForecast
from maintenance.models import CleaningEvent, Forecast
from planning.calc.learning import Cleaned, rounds_about


def cleanings_told(user: User, organisation: Organisation) -> list[Cleaned]:
    """Every cleaning that counts, the newest first, with what was measured and expected after it."""
    events = CleaningEvent.objects.for_user(user, Role.VIEWER).of_organisation(organisation).active()
    rows = list(
        events.select_related("surface__site", "visit_task__visit__crew").order_by("-cleaned_on", "pk")
    )
    rounds = _rounds(user, organisation, events)
    days: dict[Any, list[Any]] = defaultdict(list)
    for row in rows:
        days[row.surface_id].append(row.cleaned_on)
    return [_cleaned(row, rounds.get(row.surface_id, ()), days[row.surface_id]) for row in rows]


def _rounds(
    user: User, organisation: Organisation, events: QuerySet[CleaningEvent]
) -> dict[Any, Sequence[RoundAgainstForecast]]:
    """Those of surfaces that were cleaned: it is among much else that each forecast holds."""
    rows = Forecast.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    rows = rows.filter(surface__in=events.values("surface"), outlook_schema=ForecastOutlook.SCHEMA)
    found: dict[Any, Sequence[RoundAgainstForecast]] = {}
    for surface, rounds in rows.values_list("surface", KT("outlook_json__rounds")):
        with suppress(UnreadablePayloadError):
            found[surface] = from_text(tuple[RoundAgainstForecast, ...], rounds) if rounds else ()
    return found


def _cleaned(row: Any, rounds: Any, days: Any) -> Cleaned:
    others = list(days)
    others.remove(row.cleaned_on)
    before, after = rounds_about(row.cleaned_on, rounds, others)
    task = getattr(row, "visit_task", None)
    return Cleaned(
        on=row.cleaned_on,
        method=str(row.get_method_display()),
        crew=str(task.visit.crew) if task else row.done_by,
        surface=str(row.surface),
        key=row.pk,
        before_mm_h=before,
        after=after,
    )

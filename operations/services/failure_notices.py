"""Telling who administers a firm that work in the background failed.

By the clock and not with the failure itself: what a job does and how it ends lies below every app that knows people.
"""

from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _

from accounts.calc.notices import NoticeKind
from accounts.models import Organisation
from accounts.services.telling import News, tell_firm
from core.calc.jobs import JobState
from operations.calc.job_kinds import KINDS, JobKind
from operations.selectors.jobs import rows_of

LOOKS_BACK = timedelta(days=1)


def tell_failures(at: datetime) -> int:
    """Tell of what failed within a day: of a firm, a kind of work and a day once, however much of it failed.

    Returns how many such. A query for each kind, and none more where nothing failed.
    """
    count = 0
    for kind in KINDS:
        for firm, on in _failed(kind, at):
            count += 1
            _tell(firm, kind, on.isoformat())
    return count


def _failed(kind: JobKind, at: datetime) -> Any:
    rows: Any = rows_of(kind)
    path = str(getattr(rows, "organisation_path", "organisation"))
    failed = rows.filter(state=JobState.FAILED, finished_at__gt=at - LOOKS_BACK).order_by()
    if kind.by_condition:  # a record that refuses says so on its own page, to who can mend it
        failed = failed.filter(Q(error=rows.model.GIVEN_UP))
    pairs = list(failed.values_list(path, "finished_at__date").distinct())
    firms = Organisation.objects.in_bulk({firm for firm, _ in pairs})
    return [(firms[firm], on) for firm, on in pairs]


def _tell(firm: Organisation, kind: JobKind, on: str) -> None:
    def text() -> str:
        failed = _("{work}: it failed. What went wrong stands under “Work in the background”.")
        return failed.format(work=_(kind.words))

    path = f"{reverse('operations:job-list')}?kind={kind.key}"
    tell_firm(news=News(NoticeKind.FAILED, firm, firm, text, path, f"{kind.key} {on}"))

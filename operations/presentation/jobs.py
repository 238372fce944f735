"""Jobs in words, for whoever administers a firm."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.apps import apps
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from core.calc.format import day, moment
from core.calc.jobs import JobState
from core.models.jobs import Job
from core.presentation.figures import Figure
from operations.selectors.jobs import OPEN, JobList, JobRow

TAGS = {JobState.FAILED: "tag--bad", JobState.RUNNING: "tag--good", JobState.DONE: "tag--good"}
SOON = gettext_noop("It is begun within two minutes.")
NOT_BY_HAND = gettext_noop("It cannot be tried again here: open its page.")


@dataclass(frozen=True, slots=True)
class JobLine:
    """A job as the page shows it. sentences: since when, how far, who does it, when again."""

    row: JobRow
    title: str
    about: str
    url: str
    state: str
    tag: str
    when: str
    sentences: tuple[str, ...]
    why: str
    again_url: str


def figures_of(jobs: JobList) -> list[Figure]:
    """How many failed, are at work and wait."""
    return [Figure(state.label, str(jobs.count_of(state)), "") for state in OPEN]


def job_lines(rows: Iterable[JobRow], zone: ZoneInfo, at: datetime) -> list[JobLine]:
    """Jobs in words, at an instant; times in `zone`."""
    return [_line(row, zone, at) for row in rows]


def _line(row: JobRow, zone: ZoneInfo, at: datetime) -> JobLine:
    state = JobState(row.state)
    return JobLine(
        row=row,
        title=_(row.kind.words),
        about=day(row.about) if row.kind.about_is_day else row.about,
        url=_url(row),
        state=state.label,
        tag=TAGS.get(state, ""),
        when=moment(row.wanted_since, zone),
        sentences=tuple(_sentences(row, state, zone, at)),
        why=_(row.error) if row.error else "",
        again_url=reverse("operations:job-again", args=[f"{row.kind_key}-{row.pk}"]) if row.may_again else "",
    )


def _url(row: JobRow) -> str:
    if not row.kind.of:
        return reverse(row.kind.route)
    return reverse(row.kind.route, args=[row.link]) if row.link else ""


def _sentences(row: JobRow, state: JobState, zone: ZoneInfo, at: datetime) -> Iterable[str]:
    if state == JobState.RUNNING:
        yield from _at_work(row, zone)
    elif state == JobState.WAITING:
        later = row.due_at is not None and row.due_at > at
        begins = _("Not before {time}.") if later else _(SOON)
        yield begins.format(time=moment(row.due_at, zone) if row.due_at else "")
    elif row.finished_at:
        yield _("Ended {time}.").format(time=moment(row.finished_at, zone))
    if row.tries and state != JobState.DONE:
        tried = ngettext("Tried {count} time so far.", "Tried {count} times so far.", row.tries)
        yield tried.format(count=row.tries)
    if state == JobState.FAILED and not row.may_again:
        yield _(NOT_BY_HAND)


def _at_work(row: JobRow, zone: ZoneInfo) -> Iterable[str]:
    if row.started_at:
        since = _("Since {time} by {worker}.") if row.worker else _("Since {time}.")
        yield since.format(time=moment(row.started_at, zone), worker=row.worker)
    if row.progress_total:
        yield _progress(row)
    if row.lease_until:
        seen = moment(row.lease_until - _lease(row), zone, exact=True)
        yield _("Last sign of life {time}.").format(time=seen)


def _progress(row: JobRow) -> str:
    if not row.progress_word:
        return _("{done} of {total}.").format(done=row.progress_done, total=row.progress_total)
    said = {"done": row.progress_done, "total": row.progress_total, "things": _(row.progress_word)}
    return _("{done} of {total} {things}.").format(**said)


def _lease(row: JobRow) -> timedelta:
    model = apps.get_model(row.kind.label)
    assert issubclass(model, Job)  # every kind is one
    return model.LEASE

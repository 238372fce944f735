"""What came of a try: a fault, or none. Each is undone afterwards, so that each meets the same rows."""

import logging
import re
from collections import Counter
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from pathlib import Path
from time import process_time
from traceback import FrameSummary, extract_tb
from types import NoneType

import hypothesis
from django.apps import apps
from django.core import mail
from django.core.cache import cache
from django.core.exceptions import SuspiciousOperation, ValidationError
from django.db import connection, transaction
from django.forms import BaseForm
from django.test import TestCase
from hypothesis import HealthCheck, Phase, given, settings

from tests.security.targets import forms_in
from tests.security.tries import shown, tries
from tests.sending import OURS, everything_stored

ROOT = Path(__file__).resolve().parents[2]
NOTED_ANYHOW = {"api_apitoken", "reporting_linkopening"}  # that it was used, whatever came of it
LOOKED_AT = 3  # of so many that stored something one has the page opened that it leads to
NO_ROOM = 507  # a full disk is no fault of the program


@dataclass
class Tally:
    """How many tries there were, what they were answered, how many stored something, and the faults by their place."""

    tries: int = 0
    answers: Counter = field(default_factory=Counter)
    stored: Counter = field(default_factory=Counter)
    faults: dict = field(default_factory=dict)
    cpu_s: float = 0.0

    def report(self):
        """Lines for people."""
        yield f"{self.tries} tries in {self.cpu_s:.0f} s of processor: {dict(sorted(self.answers.items()))}"
        yield f"{self.stored.total()} stored something, on {len(self.stored)} routes; {len(self.faults)} faults"
        for place, (count, first) in self.faults.items():
            yield f"{count} × {place}\n    first: {first}"


class _Errors(logging.Handler):
    """Faults that something caught and wrote into the log."""

    def __init__(self):
        super().__init__(logging.ERROR)
        self.found = []

    def emit(self, record):
        if record.exc_info and not isinstance(record.exc_info[1], SuspiciousOperation | NoneType):
            self.found.append(record.exc_info[1])


class Judge:
    """Sends tries and judges them by the rows there were before."""

    def __init__(self, until_cpu_s=None):
        self.tally, self.until_cpu_s = Tally(), until_cpu_s
        self.before, self.unclean = everything_stored(), set(unclean_rows())
        self.errors = _Errors()

    def send(self, one):
        """One try, undone. Nothing is raised: what is wrong is kept by its place in the program."""
        client = one.target.client
        client.cookies = SimpleCookie(one.target.cookies)
        cache.clear()
        mail.outbox.clear()
        self.errors.found.clear()
        self.tally.tries += 1
        with self._undone(one):
            for fault in self._wrong_with(one, client):
                self.keep(fault, one)

    def keep(self, place, one):
        """A fault, counted by its place."""
        count, first = self.tally.faults.get(place, (0, shown(one)))
        self.tally.faults[place] = (count + 1, first)

    @contextmanager
    def _undone(self, one):
        try:
            with transaction.atomic():
                try:
                    yield
                finally:
                    transaction.set_rollback(True)
        except Exception as error:  # noqa: BLE001  # whatever it is, it is a finding
            self.keep(place_of(error), one)

    def _wrong_with(self, one, client):
        later = one.target.route.startswith("exchange:")
        with TestCase.captureOnCommitCallbacks(execute=later):
            answer = self._answer(one, client)
        self.tally.answers[answer.status_code] += 1
        if answer.status_code >= 500 and answer.status_code != NO_ROOM:
            yield f"answered {answer.status_code}"
        yield from [f"logged {place_of(error)}" for error in self.errors.found]
        yield from self._half_stored(one, answer)

    def _answer(self, one, client):
        path = one.target.path + (f"?{one.query}" if one.query else "")
        answer = client.generic(one.method, path, one.body, one.kind, **one.headers)
        if answer.streaming:
            b"".join(answer.streaming_content)
        return answer

    def _half_stored(self, one, answer):
        changed = everything_stored() ^ self.before
        if not changed:
            return
        self.tally.stored[one.target.route] += 1
        tables = sorted({row.split(" ", 1)[0] for row in changed} - NOTED_ANYHOW)
        if tables and was_refused(one, answer):
            yield f"refused {answer.status_code}, and yet stored: {one.target.route} {tables}"
        yield from {f"half a row: {what}" for what, _ in set(unclean_rows(tables)) - self.unclean}
        connection.check_constraints()
        if any("\\x00" in row for row in changed):
            yield f"a character of code 0 is stored: {one.target.route}"
        led_on = answer.status_code == 302 and answer.url.startswith("/")
        if led_on and self.tally.stored[one.target.route] % LOOKED_AT == 1:
            one.target.client.get(answer.url)


def was_refused(one, answer):
    """Whether an answer says that nothing was done."""
    if answer.status_code >= 400:
        return True
    bound = [form for form in forms_in(answer.context) if isinstance(form, BaseForm) and form.is_bound]
    return one.method == "POST" and answer.status_code == 200 and any(form.errors for form in bound)


def unclean_rows(tables=None):
    """Rows that their own columns would not take: too long, no choice of theirs; of some tables or all."""
    for label in OURS:
        for model in apps.get_app_config(label).get_models():
            if model.__name__.startswith("Historical") or model._meta.db_table not in (
                tables or {model._meta.db_table}
            ):
                continue
            for row in model._base_manager.all():
                try:
                    row.clean_fields(exclude=[one.name for one in model._meta.fields if _is_empty(row, one)])
                except ValidationError as error:
                    yield f"{model._meta.label} {sorted(error.message_dict)}", row.pk


def _is_empty(row, one):
    return one.is_relation or getattr(row, one.attname) in (None, "", b"")


def place_of(error):
    """The kind of an error, and the last line of ours that it came through."""
    frames = extract_tb(error.__traceback__)
    ours = [one for one in frames if one.filename.startswith(str(ROOT)) and "/.venv/" not in one.filename]
    outside_tests = [one for one in ours if "/tests/" not in one.filename]
    last = [*(frames or [FrameSummary("nowhere", 0, "nothing")]), *ours, *outside_tests][-1]
    words = re.sub(r"0x[0-9a-f]+|[0-9a-f]{8}-[0-9a-f-]{27}", "…", str(error))[:120]
    return f"{type(error).__name__} in {Path(last.filename).name}:{last.lineno} {last.name}: {words}"


def run(targets, *, tries_wanted, seed, until_cpu_s=None):
    """Send as many tries, shared out evenly, or those that fit into the time of the processor; gives the tally."""
    judge, begun = Judge(), process_time()
    each, more = divmod(tries_wanted, len(targets))
    logging.getLogger().addHandler(judge.errors)
    try:
        for number, target in enumerate(targets):
            if until_cpu_s is None or process_time() - begun < until_cpu_s:
                _send_to(judge, target, each + (number < more), f"{seed} {target.route}")
    finally:
        logging.getLogger().removeHandler(judge.errors)
    judge.tally.cpu_s = process_time() - begun
    return judge.tally


def _send_to(judge, target, wanted, seed):
    """The simplest that can be drawn comes first, of every route the same: it is left out."""
    sent = []

    @hypothesis.seed(seed)
    @settings(
        max_examples=wanted + 1,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(tries(target))
    def once(one):
        sent.append(one)
        if 1 < len(sent) <= wanted + 1:
            judge.send(one)

    if wanted:
        once()

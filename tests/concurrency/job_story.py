"""Jobs, a broker and workers that die: run as `python -m tests.concurrency.job_story <log file> [chapter]...`.

Starts and kills the workers itself, watches the rows, and prints what it saw as one line of JSON.
"""

import json
import os
import signal
import sys
import time
from collections import Counter
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import django
from redis import Redis

from tests.concurrency.forks import started
from tests.concurrency.patience import PATIENCE_S, wait_until
from tests.concurrency.worker_process import HANGING_LEASE_S, work
from tests.tables import make_tables_here


@contextmanager
def worker(*flags):
    """A worker that is killed with the block, without a word."""
    process = started(work, str(LOG), flags)
    try:
        yield process
    finally:
        process.kill()
        process.join()


def notes(word):
    """The lines of the log that tell of that: pairs of process and key."""
    lines = LOG.read_text().split("\n") if LOG.exists() else []
    return [tuple(line.split()[1:]) for line in lines if line.startswith(f"{word} ")]


def computed(surface):
    return sum(key == str(surface.pk) for _, key in notes("computed"))


def new_forecast(site):
    """A surface whose forecast waits to be made."""
    from maintenance.models import Forecast
    from qa.models import Surface

    surface = Surface.objects.create(
        site=site,
        name=f"Yard {Surface.objects.count()}",
        surface_type="picp",
        area_m2=800.0,
        opened_on=date(2020, 5, 1),
        limit_mm_h=250.0,
        limit_source="agreed",
    )
    return Forecast.objects.create(surface=surface)


def state_of(forecast):
    forecast.refresh_from_db()
    return forecast.state


def new_site(name):
    from accounts.models import Owner, User
    from accounts.services.people import found_organisation
    from qa.models import Site

    user = User.objects.create_user(f"anna@{name.lower()}.example", "a-long-password-1")
    firm = found_organisation(by=user, name=name, currency="EUR")
    owner = Owner.objects.create(organisation=firm, name="School trust")
    return Site.objects.create(organisation=firm, owner=owner, name="School")


def killed_in_mid_job(site, *flags):
    """A worker is killed over a job, while another one, with the flags, is there. What became of the job when."""
    from core.services import jobs

    forecast = new_forecast(site)
    with worker("hangs") as first:
        jobs.nudge(forecast)
        wait_until(lambda: computed(forecast.surface) == 1, "the first worker has begun")
        with worker(*flags):
            swept(site)
            time.sleep(HANGING_LEASE_S)  # longer than the lease was when it was claimed
            swept(site)
            while_alive = state_of(forecast), computed(forecast.surface)
            first.kill()
            first.join()
            swept(site)
            forecast.refresh_from_db()
            just_after = computed(forecast.surface), forecast.finished_at
            time.sleep(HANGING_LEASE_S + 1.0)
            swept(site)
            time.sleep(1.0)
            swept(site)
    return {
        "while_alive": while_alive,
        "just_after": just_after[0],
        "in_the_end": state_of(forecast),
        "claims": forecast.claim_number,
        "computed": computed(forecast.surface),
    }


def killed_in_mid_batch(site):
    """A worker is killed over the third job of a batch, and another one comes. What became of the five, in order."""
    from core.services import jobs
    from maintenance.models import Forecast

    rows = [new_forecast(site) for _ in range(5)]
    with worker("third") as first:
        jobs.nudge_wanted(Forecast.objects.filter(surface__site=site))
        wait_until(lambda: sum(computed(row.surface) for row in rows) == 3, "the third was begun")
        first.kill()
        first.join()
    kept = [state_of(row) for row in rows]
    with worker():
        time.sleep(HANGING_LEASE_S + 1.0)
        swept(site)
        wait_until(lambda: all(state_of(row) == "done" for row in rows), "the rest was taken up")
    return {
        "kept": kept,
        "in_the_end": [state_of(row) for row in rows],
        "computed": [computed(row.surface) for row in rows],
    }


def swept(site):
    """Have the sweep done, and wait for a job that it finds among the others."""
    from core.tasks import sweep

    marker = new_forecast(site)
    sweep.delay()
    wait_until(lambda: state_of(marker) == "done", "the sweep was done")


def delivered_twice(site, *flags):
    """Two workers are given the same job at the same time."""
    from core.tasks import run_job

    forecast = new_forecast(site)
    with worker("slow", *flags), worker("slow", *flags):
        both_are_up()
        for _ in range(2):
            run_job.delay("maintenance.Forecast", str(forecast.pk))
        wait_until(lambda: len(deliveries(forecast)) == 2, "both have it")
        wait_until(lambda: state_of(forecast) == "done", "it is done")
        time.sleep(3.0)  # for the other one, should it be at work
    return {"by": len(set(deliveries(forecast))), "computed": computed(forecast.surface)}


def deliveries(forecast):
    return [process for process, key in notes("delivered") if key == str(forecast.pk)]


def both_are_up():
    """Two workers answer, so that the next two deliveries find both of them free."""
    from config.celery import app

    wait_until(lambda: len(app.control.ping(timeout=1.0)) == 2, "both workers are up")


def all_done(forecasts):
    """Whether they are; if not, the sweep comes, as it would by the clock."""
    from core.tasks import sweep

    if not forecasts.exclude(state="done").exists():
        return True
    sweep.delay()
    time.sleep(5.0)
    return False


def all_made(fits, forecasts):
    """Whether the night's fit has ended and each forecast was made with it; if not, the sweep comes once more."""
    from core.tasks import sweep

    if fits.ended().exists() and not forecasts.wanted().exists():
        return True
    sweep.delay()
    time.sleep(1.0)
    return False


def night(site):
    """A night with two workers, a fit that takes long and a sweep that comes all the time.

    How many fits there were, how often each forecast was made, and whether with that fit.
    """
    from maintenance.models import Forecast, PortfolioFit
    from maintenance.tasks import start_night

    mine = Forecast.objects.filter(surface__site=site)
    rows = [new_forecast(site) for _ in range(13)]  # more than a young portfolio has
    with worker("slowfit"), worker("slowfit"):
        both_are_up()
        wait_until(lambda: all_done(mine), "the evening is done")
        before = Counter(key for _, key in notes("computed"))
        PortfolioFit.objects.update(night=None)  # of stories told before
        start_night.delay()
        start_night.delay()  # by two beats, by mistake
        fits = PortfolioFit.objects.filter(organisation=site.organisation)
        wait_until(lambda: all_made(fits, mine), "the night is over")
    made = Counter(key for _, key in notes("computed")) - before
    return {
        "fits": fits.count(),
        "each": sorted({made[str(row.surface_id)] for row in rows}),
        "with_it": mine.filter(after_fit=fits.get(), rests_on="records").count() == len(rows),
    }


def tell(wanted):
    """The chapters that are wanted, one after the other."""
    make_tables_here()
    return {name: begun_anew(chapter) for name, chapter in CHAPTERS.items() if name in wanted}


def begun_anew(chapter):
    """What is left of the chapters before would be work for the workers of this one: they count what they begin."""
    from config.celery import app
    from maintenance.models import Forecast

    Redis.from_url(app.conf.broker_url).flushall()
    Forecast.objects.all().delete()
    return chapter()


CHAPTERS = {
    "killed": lambda: killed_in_mid_job(new_site("Killed")),
    "killed_unexpired": lambda: killed_in_mid_job(new_site("Unexpired"), "unexpired"),
    "batch": lambda: killed_in_mid_batch(new_site("Batch")),
    "twice": lambda: delivered_twice(new_site("Twice")),
    "twice_unclaimed": lambda: delivered_twice(new_site("Unclaimed"), "unclaimed"),
    "night": lambda: night(new_site("Night")),
}


if __name__ == "__main__":
    LOG = Path(sys.argv[1])
    signal.alarm(round(10 * PATIENCE_S))  # so that a story that hangs ends at all
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    django.setup()
    print(json.dumps(tell(sys.argv[2:] or CHAPTERS)))  # noqa: T201

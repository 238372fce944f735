"""How soon the report of a site with two hundred tests begins to arrive, beside the sign-in page of the same run.

    python -m benchmarks.report_first_byte                 of the demonstration firm, loaded anew
    python -m benchmarks.report_first_byte --data FOLDER   of a folder with that firm, whose site is added to

The site with the most surfaces gets rounds until it has that many tests. Each page is asked for in a process forked
when other sites' reports were made, but none of this one: `first` has to draw what nobody drew, `again` does not. The
page is sent as a whole, so its first byte comes when it is made. Milliseconds of the processor, which a quiet machine's
clock exceeds by little.
"""

from __future__ import annotations

import argparse
import gc
import logging
import os
import tempfile
import time
from datetime import timedelta
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any, NamedTuple

from benchmarks.firm_at_size import Firm, set_up
from benchmarks.pages_at_size import _visitor, in_child

TESTS, CHILDREN, TESTS_A_ROUND = 200, 7, 4
MOST_MS = 300.0
BEFORE = "/health/"
PERIODS = {"usual period": "", "all years": "?since=2000-01-01"}


class Took(NamedTuple):
    """Milliseconds of processor for the first time a page is asked for and for the second, and its bytes."""

    first_ms: float
    again_ms: float
    size: int


def main() -> int:
    """Print a line for each period; 1 where the first byte of the usual one comes too late."""
    asks = argparse.ArgumentParser(prog="python -m benchmarks.report_first_byte", description=__doc__)
    asks.add_argument("--data", default="", help="data folder with the demonstration firm loaded")
    asked = asks.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["RAINTHROUGH_DEMO"] = "1"
        set_up(Path(asked.data or folder))
        logging.disable(logging.WARNING)
        if not asked.data:
            _load()
        return _measured()


def _load() -> None:
    from django.core.management import call_command

    call_command("load_demo", verbosity=0)


def _measured() -> int:
    from django.db.models import Count

    from qa.models import Site

    by_size = list(Site.objects.annotate(count=Count("surfaces")).order_by("-count", "name"))
    site, others = by_size[0], by_size[1:]
    tests = _with_tests(site)
    for path in ["/sign-in/login/", *(f"{other.get_absolute_url()}report/" for other in others)]:
        _visitor(_person_of(site), path).get(path)
    gc.collect()
    gc.freeze()  # as a worker of the server does
    print(f"{site.surfaces.count()} surfaces, {tests} tests")
    base = _line("sign-in page", _visits(site, "/sign-in/login/"), None)
    late = [_line(name, _visits(site, _path(site, asked)), base) for name, asked in PERIODS.items()]
    return int(late[0] > MOST_MS)


def _path(site: Any, asked: str) -> str:
    return f"{site.get_absolute_url()}report/{asked}"


def _with_tests(site: Any) -> int:
    """Add rounds to the surfaces in turn until there are enough tests, and make the forecasts anew."""
    from maintenance.services.forecasts import refresh
    from qa.models import InfiltrationTest

    surfaces = list(site.surfaces.order_by("name"))
    count = InfiltrationTest.objects.filter(round__surface__site=site).count()
    added = 0
    while count + added * TESTS_A_ROUND < TESTS:
        _round(surfaces[added % len(surfaces)], 30 + 45 * (added // len(surfaces)))
        added += 1
    if added:
        for surface in surfaces:
            refresh(surface.pk)
    return count + added * TESTS_A_ROUND


def _round(surface: Any, days_ago: int) -> None:
    """A round like the last one, so many days before today."""
    from qa.models import InfiltrationTest, TestRound

    on = surface.site.today() - timedelta(days=days_ago)
    round_ = TestRound.objects.create(surface=surface, tested_on=on, purpose="routine", hours_since_rain=48.0)
    like = (
        InfiltrationTest.objects.filter(round__surface=surface, method="ring")
        .order_by("-round__tested_on")
        .first()
    )
    assert like is not None, f"{surface} has no ring test to go by."
    for number in range(TESTS_A_ROUND):
        like.pk, like._state.adding = None, True
        like.round, like.location, like.spot, like.sequence = round_, None, f"spot {number}", 1
        like.save()


def _person_of(site: Any) -> Firm:
    """Somebody of the office."""
    return Firm(site.organisation, site.organisation.memberships.order_by("-role").first().user)


def _visits(site: Any, path: str) -> list[Took]:
    return [in_child(partial(_twice, site, path)) for _ in range(CHILDREN)]


def _twice(site: Any, path: str) -> Took:
    client = _visitor(_person_of(site), path)
    client.get(
        BEFORE
    )  # whoever comes to a report has been at another page, and the process has its connection
    times, size = [], 0
    for _ in range(2):
        began = time.process_time()
        answer = client.get(path)
        times.append(1000.0 * (time.process_time() - began))
        assert answer.status_code == 200, f"{path} answered {answer.status_code}"
        size = len(answer.content)
    return Took(times[0], times[1], size)


def _line(name: str, took: list[Took], base_ms: float | None) -> float:
    first, again = median(each.first_ms for each in took), median(each.again_ms for each in took)
    ratio = f"{first / base_ms:8.1f} times the sign-in page" if base_ms else ""
    print(
        f"{name:14} first {first:6.0f} ms, again {again:6.0f} ms, {took[0].size / 1000:5.0f} kB{ratio}",
        flush=True,
    )
    return first


if __name__ == "__main__":
    raise SystemExit(main())

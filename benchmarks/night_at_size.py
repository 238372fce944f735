"""What nights cost a firm, in processor time and queries a surface, beside making every forecast in full.

    python -m benchmarks.night_at_size [--surfaces 200] [--each 40] [--new 0.015]

First every forecast in full in batches, which is what each night did before; some of them one by one, as they are
asked for by day. Then a night with nothing but a new day, one on which a few surfaces have a new round, and the nights
after a fit that was asked for and after new prices, on as many surfaces as --each says. The last column is the ratio to
making them in full.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple
from unittest import mock

import numpy as np
import time_machine

from benchmarks.firm_at_size import make_firm, set_up

LABEL = "maintenance.Forecast"


class Cost(NamedTuple):
    """Of a surface: how many were done, queries, and milliseconds of processor and of the clock."""

    done: int
    queries: float
    cpu_ms: float
    wall_ms: float


def main() -> None:
    """Print a line for each way and each night."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--surfaces", type=int, default=200, help="of the firm")
    parser.add_argument("--each", type=int, default=40, help="surfaces of the nights that make all anew")
    parser.add_argument("--new", type=float, default=0.015, help="share of surfaces with a new round")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        set_up(Path(folder))
        firm = make_firm("Firm of the night", asked.surfaces, forecasts=False).organisation
        _run(firm, asked)


def _run(firm: Any, asked: argparse.Namespace) -> None:
    _fit(firm)
    _rows()
    print(f"{'way':52}{'surfaces':>9}{'queries':>9}{'cpu ms':>9}{'wall ms':>9}{'ratio':>8}   a surface")
    _print("in full, one by one, as by day", cost_of(lambda: _singly(min(asked.each, 20))), None)
    full = cost_of(lambda: _in_batches(asked.surfaces))
    _print("in full, in batches: every night before", full, full)
    tomorrow = datetime.now(UTC) + timedelta(days=1)
    with time_machine.travel(tomorrow):
        ordinary = cost_of(lambda: _night(firm, 0.0))
        _print("a night with nothing new", ordinary, full)
    with time_machine.travel(tomorrow + timedelta(days=1)):
        ordinary = cost_of(lambda: _night(firm, asked.new))
        _print(f"a night with a new round on {asked.new:.1%} of them", ordinary, full)
        _fit(firm)
        _print("after a new fit", cost_of(lambda: _in_batches(asked.each)), full)
        _new_prices(firm)
        _print("after new prices", cost_of(lambda: _in_batches(asked.each)), full)


def _fit(firm: Any) -> None:
    """So that forecasts rest on a stored fit, as in a firm of many surfaces."""
    from maintenance.services.fits import request_fit

    with mock.patch("core.services.jobs.nudge_wanted"):
        request_fit(organisation=firm)


def _rows() -> None:
    from maintenance.models import Forecast
    from qa.models import Surface

    Forecast.objects.bulk_create([Forecast(surface=surface) for surface in Surface.objects.all()])


def _singly(count: int) -> int:
    from core.services import jobs
    from maintenance.models import Forecast

    chosen = list(Forecast.objects.wanted().order_by("created_at").values_list("pk", flat=True)[:count])
    for pk in chosen:
        jobs.run(LABEL, pk)
    return count


def _in_batches(most: int) -> int:
    from core.services import batches

    done = 0
    while done < most and (more := batches.run_batch(LABEL)):
        done += more
    return done


def _night(firm: Any, share_new: float) -> int:
    """Everything from the night's fit on, which a grown firm keeps where hardly anything is new."""
    from django.utils.timezone import now

    from maintenance.models import PortfolioFit
    from maintenance.services import fits, forecasts
    from qa.models import Surface

    surfaces = list(Surface.objects.of_organisation(firm).order_by("name"))
    _record_rounds(surfaces[: round(share_new * len(surfaces))])
    with mock.patch("core.services.jobs.nudge"), mock.patch("core.services.jobs.nudge_wanted"):
        forecasts.start_night(now().date())
        fits.run_fit(PortfolioFit.objects.get(night=now().date()).pk)
    return _in_batches(len(surfaces))


def _record_rounds(surfaces: list[Any]) -> None:
    from benchmarks.firm_at_size import TESTS_A_ROUND, one_test
    from qa.models import TestRound
    from qa.services.changes import bump_record_version

    rng = np.random.default_rng(7)
    for surface in surfaces:
        day = surface.site.today()
        round_ = TestRound.objects.create(
            surface=surface, tested_on=day, purpose="routine", hours_since_rain=48
        )
        for spot in range(TESTS_A_ROUND):
            one_test(round_, spot, rng).save()
        with mock.patch("core.services.jobs.nudge"):
            bump_record_version(surface.pk)


def _new_prices(firm: Any) -> None:
    from core.services import jobs
    from maintenance.models import Forecast

    firm.test_visit_price = (firm.test_visit_price or 0) + 90
    firm.save()
    jobs.requeue(Forecast.objects.of_organisation(firm))


def cost_of(way: Callable[[], int]) -> Cost:
    """What a way costs each of the surfaces that it says it has done."""
    from django.db import connection

    asked = []

    def counted(execute: Callable[..., Any], *args: Any) -> Any:
        asked.append(1)
        return execute(*args)

    cpu, wall = time.process_time(), time.perf_counter()
    with connection.execute_wrapper(counted):
        done = way()
    cpu_ms, wall_ms = 1e3 * (time.process_time() - cpu), 1e3 * (time.perf_counter() - wall)
    return Cost(done, len(asked) / done, cpu_ms / done, wall_ms / done)


def _print(name: str, cost: Cost, full: Cost | None) -> None:
    ratio = f"{cost.cpu_ms / full.cpu_ms:8.3f}" if full else " " * 8
    print(
        f"{name:52}{cost.done:9}{cost.queries:9.1f}{cost.cpu_ms:9.1f}{cost.wall_ms:9.1f}{ratio}", flush=True
    )


if __name__ == "__main__":
    main()

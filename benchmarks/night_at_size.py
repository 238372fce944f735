"""What the night costs a surface: queries and processor seconds, with and without the comparison of ways of care.

    python -m benchmarks.night_at_size [--surfaces 200] [--each 40]

One by one as they are asked for by day, then in batches as at night; then both without the comparison.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest import mock

from benchmarks.firm_at_size import make_firm, set_up


def main() -> None:
    """Print a line for each way."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--surfaces", type=int, default=200, help="of the firm")
    parser.add_argument("--each", type=int, default=40, help="surfaces whose forecast is made in each way")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        set_up(Path(folder))
        make_firm("Firm of the night", asked.surfaces, forecasts=False)
        _fit_once()
        print(f"{'way':44}{'queries':>9}{'cpu ms':>9}{'wall ms':>9}   a surface")
        for name, way in (("one by one", _singly), ("in batches", _in_batches)):
            way(2)
            _print(name, way, asked.each)
            with mock.patch("maintenance.services.forecasts.care_of", _one_care()):
                _print(f"{name}, without comparing ways of care", way, asked.each)


def _fit_once() -> None:
    """So that forecasts rest on a stored fit, as in a firm of many surfaces."""
    from accounts.models import Organisation
    from maintenance.models import Forecast
    from maintenance.services.fits import request_fit
    from qa.models import Surface

    with mock.patch("core.services.jobs.nudge_wanted"):
        for firm in Organisation.objects.all():
            request_fit(organisation=firm)
    Forecast.objects.bulk_create([Forecast(surface=surface) for surface in Surface.objects.all()])


def _one_care() -> Callable[..., Any]:
    """A comparison made once, in place of one for each surface."""
    from maintenance.selectors.care import care_of

    made: list[Any] = []

    def once(*args: Any) -> Any:
        if not made:
            made.append(care_of(*args))
        return made[0]

    return once


def _ask_anew(count: int) -> list[Any]:
    from core.services import jobs
    from maintenance.models import Forecast

    Forecast.objects.update(state="done", made_from_version=1)
    chosen = list(Forecast.objects.order_by("created_at", "pk").values_list("pk", flat=True)[:count])
    jobs.requeue(Forecast.objects.filter(pk__in=chosen))
    return chosen


def _singly(count: int) -> int:
    from core.services import jobs

    for pk in _ask_anew(count):
        jobs.run("maintenance.Forecast", pk)
    return count


def _in_batches(count: int) -> int:
    from core.services import batches

    _ask_anew(count)
    done = 0
    while done < count and (more := batches.run_batch("maintenance.Forecast")):
        done += more
    return done


def _print(name: str, way: Callable[[int], int], count: int) -> None:
    from django.db import connection

    asked = []

    def counted(execute: Callable[..., Any], *args: Any) -> Any:
        asked.append(1)
        return execute(*args)

    cpu, wall = time.process_time(), time.perf_counter()
    with connection.execute_wrapper(counted):
        done = way(count)
    cpu_ms, wall_ms = 1e3 * (time.process_time() - cpu), 1e3 * (time.perf_counter() - wall)
    print(f"{name:44}{len(asked) / done:9.1f}{cpu_ms / done:9.1f}{wall_ms / done:9.1f}", flush=True)


if __name__ == "__main__":
    main()

"""Reports of sites as PDFs on two processes, against an empty page by the same compiler in the same run.

    python -m benchmarks.report_papers          40 reports
    python -m benchmarks.report_papers --all    1,000
    python -m benchmarks.report_papers --data FOLDER    of a loaded demonstration firm, instead of loading one anew

The sites are those of the invented firm in turn, each time with another period, other curves and other stones, so that
no report is one that was made before. Gathered from the database each time. Prints seconds, processor time a report,
and the ratio to an empty page; fails where 1,000 would take longer than five minutes of two processors.
"""

import os
import random
import sys
import tempfile
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import timedelta
from multiprocessing import get_context
from statistics import median
from time import perf_counter, process_time
from typing import Any

FEW, ALL, WORKERS = 40, 1000, 2
MOST_S_OF_ALL = 300
EMPTY_PAGES = 20
EMPTY = b'#set document(title: "Empty")\n#set text(lang: "en")\n#set page(paper: "a4")\nNothing.'
LONGEST_DAYS = 700


def main() -> int:
    """Print the table; 1 where it takes too long."""
    asked = _asked()
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"RAINTHROUGH_DATA_DIR": asked.data or folder, "RAINTHROUGH_DEMO": "1"}
        os.environ |= {"RAINTHROUGH_HTTPS": "0"}
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        set_up()
        if not asked.data:
            _load()
        return _measured(ALL if asked.all else FEW)


def _asked() -> Namespace:
    asks = ArgumentParser(prog="python -m benchmarks.report_papers")
    asks.add_argument("--all", action="store_true", help=f"{ALL:,} reports instead of {FEW}")
    asks.add_argument("--data", default="", help="data folder with the demonstration firm loaded")
    return asks.parse_args()


def set_up() -> None:
    """Start Django in a process."""
    import django

    django.setup()


def _load() -> None:
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("load_demo", verbosity=0)


def _measured(count: int) -> int:
    from qa.models import Site

    keys = list(Site.objects.order_by("name").values_list("pk", flat=True))
    with ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn"), initializer=set_up) as pool:
        list(pool.map(_empty_ms, range(WORKERS)))  # both are started, with everything read
        began = perf_counter()
        done = list(pool.map(made, [(keys[number % len(keys)], number) for number in range(count)]))
        took_s = perf_counter() - began
        empty_ms = median(pool.map(_empty_ms, range(WORKERS)))
    return _report(count, took_s, [ms for ms, _ in done], [size for _, size in done], empty_ms)


def made(asked: tuple[Any, int]) -> tuple[float, int]:
    """One report from the database to its PDF: milliseconds of processor time, and its size in bytes."""
    from accounts.calc.audience import Audience
    from qa.models import Site
    from reporting.presentation.pdf import pdf_of
    from reporting.presentation.report import report_paper, report_words
    from reporting.selectors.sites import report_snapshot

    key, number = asked
    draw = random.Random(number)
    began = process_time()
    site = Site.objects.select_related("organisation", "owner").get(pk=key)
    since = site.today() - timedelta(days=draw.randint(300, LONGEST_DAYS))
    snapshot = _varied(report_snapshot(site, Audience.OWNER, since=since), draw)
    units = draw.choice(("si", "us"))
    pdf = pdf_of(report_paper(snapshot, report_words(snapshot, units), {}))
    return 1000.0 * (process_time() - began), len(pdf)


def _varied(snapshot: Any, draw: random.Random) -> Any:
    """The same with curves and stones of another site."""
    return replace(snapshot, surfaces=tuple(_other_surfaces(snapshot.surfaces, draw)))


def _other_surfaces(surfaces: tuple[Any, ...], draw: random.Random) -> Iterator[Any]:
    from reporting.selectors.parts import SEEDS

    for surface in surfaces:
        built = replace(surface.build_up, seed=draw.randrange(SEEDS))
        yield replace(surface, build_up=built, forecast=_other_forecast(surface.forecast, draw))


def _other_forecast(forecast: Any, draw: random.Random) -> Any:
    if forecast is None or forecast.decline is None:
        return forecast
    record, by = forecast.decline.record, draw.uniform(0.7, 1.4)
    curves = {name: _scaled(getattr(record, name), by) for name in ("past", "future")}
    return replace(forecast, decline=replace(forecast.decline, record=replace(record, **curves)))


def _scaled(curve: Any, by: float) -> Any:
    lines = ("median", "lo80", "hi80", "lo95", "hi95")
    return replace(curve, **{name: tuple(rate * by for rate in getattr(curve, name)) for name in lines})


def _empty_ms(_: int) -> float:
    """An empty page with the same promises: the middle of several, in milliseconds of processor time."""
    from reporting.presentation.glyphs import HERE
    from reporting.presentation.typesetting import typeset

    def once(number: int) -> float:
        began = process_time()
        typeset(EMPTY + str(number).encode(), folder=HERE)
        return 1000.0 * (process_time() - began)

    return median(once(number) for number in range(EMPTY_PAGES))


def _report(count: int, took_s: float, each_ms: list[float], sizes: list[int], empty_ms: float) -> int:
    mean_ms = sum(each_ms) / count
    of_all_s = mean_ms * ALL / WORKERS / 1000.0
    print(f"{count} reports on {WORKERS} processes: {took_s:.1f} s")
    spread = f"mean {mean_ms:.0f} ms, middle {median(each_ms):.0f} ms, most {max(each_ms):.0f} ms"
    print(f"processor time a report: {spread}")
    print(f"empty page: {empty_ms:.1f} ms; a report takes {mean_ms / empty_ms:.0f} times that")
    print(
        f"{ALL:,} reports: {of_all_s:.0f} s of {WORKERS} processors; middle size {median(sizes) / 1000:.0f} kB"
    )
    return int(of_all_s > MOST_S_OF_ALL)


if __name__ == "__main__":
    sys.exit(main())

"""What pages cost in a firm of ten thousand surfaces, beside the sign-in page and a firm of twenty in the same run.

    python -m benchmarks.pages_at_size [--surfaces 10000] [--folder somewhere]

Each page is fetched in a process of its own, forked when everything is loaded and every page was made once for the
small firm: processor seconds (of the database too, where it is embedded), bytes, queries, and how much the process
grew. A folder that is named is kept and used again.
"""

from __future__ import annotations

import argparse
import os
import pickle
import resource
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from benchmarks.firm_at_size import Firm, make_firm, set_up

SMALL = 20
BIG_NAME, SMALL_NAME = "Firm of many", "Firm of few"


class Cost(NamedTuple):
    """cpu_s: the shortest of some runs; grew_mb: the process beyond what it held before."""

    status: int
    cpu_s: float
    wall_s: float
    size: int
    queries: int
    grew_mb: float


def main() -> None:
    """Print one line a page, of the big firm and of the small."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--surfaces", type=int, default=10_000)
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    with _folder(asked.folder) as folder:
        set_up(folder)
        big, small = _firm(BIG_NAME, asked.surfaces), _firm(SMALL_NAME, SMALL)
        for path in _pages(small).values():
            _fetch(_visitor(small, path), path)
        _print(big, small, asked.surfaces)


@contextmanager
def _folder(named: Path | None) -> Iterator[Path]:
    if named:
        named.mkdir(parents=True, exist_ok=True)
        yield named
        return
    with tempfile.TemporaryDirectory() as made:
        yield Path(made)


def _firm(name: str, surfaces: int) -> Firm:
    from accounts.models import Organisation

    there = Organisation.objects.filter(name=name).first()
    return Firm(there, there.memberships.get().user) if there else make_firm(name, surfaces)


def _pages(firm: Firm) -> dict[str, str]:
    from django.urls import reverse

    from qa.models import Surface

    first = Surface.objects.of_organisation(firm.organisation).order_by("name").first()
    assert first is not None
    listed = reverse("maintenance:surface-list")
    return {
        "sign-in": "/sign-in/login/",
        "to do": "/",
        "surfaces": listed,
        "surfaces, page 100": f"{listed}?page=100",
        "surfaces, one state": f"{listed}?state=fine",
        "one surface": first.get_absolute_url(),
        "one site": first.site.get_absolute_url(),
        "report of 20": reverse("reporting:report-site", args=[first.site_id]),
        "reports": reverse("reporting:report-list"),
        "portfolio": reverse("reporting:portfolio-show"),
        "visits": reverse("planning:visit-list"),
        "new visit": reverse("planning:visit-create"),
        "records": reverse("maintenance:calibration"),
        "export, csv": f"{listed}?export=csv",
        "export, xlsx": f"{listed}?export=xlsx",
    }


def _visitor(firm: Firm, path: str) -> Any:
    """Somebody who is signed in, but for the page where one signs in."""
    from django.test import Client

    client = Client()
    if "login" not in path:
        client.force_login(firm.person, "django.contrib.auth.backends.ModelBackend")
    return client


def _fetch(client: Any, path: str) -> tuple[int, int]:
    """Status and bytes of a page; a stream is read to its end, and never held as a whole."""
    answer = client.get(path)
    pieces = answer.streaming_content if answer.streaming else [answer.content]
    return answer.status_code, sum(len(piece) for piece in pieces)


def _cost(firm: Firm, path: str, repeats: int) -> Cost:
    from django.db import connection

    asked = []

    def count(execute: Callable[..., Any], *args: Any) -> Any:
        asked.append(1)
        return execute(*args)

    runs, client = [], _visitor(firm, path)
    before_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for _ in range(repeats):
        asked.clear()
        cpu, wall = time.process_time(), time.perf_counter()
        with connection.execute_wrapper(count):
            status, size = _fetch(client, path)
        runs.append((time.process_time() - cpu, time.perf_counter() - wall))
    grew = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kb) / 1024
    return Cost(status, min(runs)[0], min(wall for _, wall in runs), size, len(asked), grew)


def in_child(work: Callable[[], Any]) -> Any:
    """What some work returns, done in a process forked for it."""
    from django.db import connections

    connections.close_all()
    reader, writer = os.pipe()
    child = os.fork()
    if not child:
        with os.fdopen(writer, "wb") as out:
            pickle.dump(work(), out)
        os._exit(0)
    os.close(writer)
    with os.fdopen(reader, "rb") as told:
        result = pickle.load(told)  # from our own child
    os.waitpid(child, 0)
    return result


def _print(big: Firm, small: Firm, surfaces: int) -> None:
    from django.db import connection

    print(f"{surfaces} surfaces, {connection.vendor}")
    print(f"{'page':20}{'cpu s':>8}{'wall s':>8}{'kB':>8}{'queries':>8}{'MB':>7}{'/sign-in':>9}{'/small':>8}")
    in_small = _pages(small)
    base = in_child(partial(_cost, big, in_small["sign-in"], 9)).cpu_s
    for name, path in _pages(big).items():
        repeats = 2 if "export" in name else 3
        seen: Cost = in_child(partial(_cost, big, path, repeats))
        little: Cost = in_child(partial(_cost, small, in_small[name], repeats))
        assert seen.status == 200, f"{path} answered {seen.status}"
        print(
            f"{name:20}{seen.cpu_s:8.3f}{seen.wall_s:8.3f}{seen.size / 1000:8.0f}{seen.queries:8}"
            f"{seen.grew_mb:7.0f}{seen.cpu_s / base:9.1f}{seen.cpu_s / little.cpu_s:8.1f}",
            flush=True,
        )


if __name__ == "__main__":
    main()

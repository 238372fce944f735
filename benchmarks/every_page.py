"""Every page that links lead to in a firm of ten thousand surfaces, the slowest first, beside the sign-in page.

    python -m benchmarks.every_page [--surfaces 10000] [--folder somewhere] [--shown 25]

Of each view one address is opened, as an admin of the firm and as a person of an owner of all its surfaces; twice, and
the quicker time counts. DATABASE_URL chooses the database; with PostgreSQL what it takes itself is in the time by the
clock alone. The last column is the longest question to it.
"""

from __future__ import annotations

import argparse
import re
import time
from collections.abc import Callable, Iterator
from html import unescape
from pathlib import Path
from typing import Any, NamedTuple

from benchmarks.firm_at_size import owner_person, set_up
from benchmarks.pages_at_size import BIG_NAME, _firm, _folder

HREF = re.compile(r'href="(/[^"#]*)"')
SIGN_IN = "/sign-in/login/"


class Opened(NamedTuple):
    """A page: seconds by the clock and of this process, bytes, queries and the longest of them, its text if HTML."""

    view: str
    wall_s: float
    cpu_s: float
    size: int
    queries: int
    longest_s: float
    text: str


def main() -> None:
    """Print the slowest pages of each reader."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--surfaces", type=int, default=10_000)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--shown", type=int, default=25)
    asked = parser.parse_args()
    with _folder(asked.folder) as folder:
        set_up(folder)
        firm = _firm(BIG_NAME, asked.surfaces)
        for who, person in (("admin", firm.person), ("owner's person", owner_person(firm))):
            _print(who, list(walked(_client(person))), asked.shown)


def _client(person: Any) -> Any:
    from django.test import Client

    client = Client()
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")
    return client


def walked(client: Any) -> Iterator[Opened]:
    """The sign-in page, then from the first page on one page of each view, with and without a query."""
    from django.test import Client

    yield _opened(Client(), SIGN_IN, SIGN_IN)
    seen, ahead = set(), ["/"]
    while ahead:
        path = ahead.pop(0)
        view = _view_of(path)
        if view is None or view in seen:
            continue
        seen.add(view)
        page = _opened(client, path, view)
        ahead += [unescape(found) for found in HREF.findall(page.text)]
        yield page


def _view_of(path: str) -> str | None:
    """The name of what answers; None where nothing of ours does, or one would be signed out."""
    from django.urls import Resolver404, resolve

    try:
        name = resolve(path.partition("?")[0]).view_name
    except Resolver404:
        return None
    return None if "logout" in name else f"{name} ?" if "?" in path else name


def _opened(client: Any, path: str, view: str) -> Opened:
    runs = [_once(client, path, view) for _ in range(2)]
    return min(runs, key=lambda run: run.wall_s)


def _once(client: Any, path: str, view: str) -> Opened:
    from django.db import connection

    spans: list[float] = []

    def timed(execute: Callable[..., Any], *args: Any) -> Any:
        begun = time.perf_counter()
        try:
            return execute(*args)
        finally:
            spans.append(time.perf_counter() - begun)

    wall, cpu = time.perf_counter(), time.process_time()
    with connection.execute_wrapper(timed):
        answer = client.get(path, follow=True)
        body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    is_page = "html" in answer.headers.get("Content-Type", "")
    text = body.decode() if is_page else ""
    return Opened(view, wall, cpu, len(body), len(spans), max(spans, default=0.0), text)


def _print(who: str, pages: list[Opened], shown: int) -> None:
    bare = pages[0].wall_s
    print(f"{len(pages)} pages as {who}; the sign-in page takes {1e3 * bare:.0f} ms by the clock")
    print(f"{'page':44}{'wall ms':>9}{'/sign-in':>10}{'cpu ms':>9}{'queries':>9}{'longest ms':>12}{'kB':>8}")
    for page in sorted(pages, key=lambda page: -page.wall_s)[:shown]:
        times = f"{1e3 * page.wall_s:9.0f}{page.wall_s / bare:10.0f}{1e3 * page.cpu_s:9.0f}"
        print(f"{page.view:44}{times}{page.queries:9}{1e3 * page.longest_s:12.0f}{page.size / 1e3:8.0f}")


if __name__ == "__main__":
    main()

"""People at once in a firm of ten thousand surfaces: how long each page takes beside the sign-in page of the same run.

    python -m benchmarks.load_at_size [--users 20] [--minutes 3] [--think-s 2] [--folder somewhere]

A server is started as on one machine (`manage.py serve`), with its periodic work if asked; DATABASE_URL chooses the
database. Half of the people are in the office, the others plan visits, read for an owner, record in the field by the
phone's queue and by programs, and one in ten pages asked for is the sign-in page. Each waits a while, drawn anew,
between two pages. Printed for each kind of page: how often, the middle and the 95 % time, its ratio to that of the
sign-in page, every answer that was no success; then what the server's processes held in memory at both ends.
"""

from __future__ import annotations

import argparse
import http.client
import json
import random
import socket
import statistics
import subprocess
import sys
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple
from uuid import uuid4

from benchmarks.firm_at_size import Firm, owner_person, set_up
from benchmarks.pages_at_size import BIG_NAME, _firm, _folder

ROOT = Path(__file__).resolve().parent.parent
STARTED_WITHIN_S, ENDED_WITHIN_S = 120, 30
SIGN_IN = "sign-in"
SIGN_IN_SHARE = 0.1
READY = 200
READINGS = {
    "prewet_mass": 3.6,
    "prewet_time_s": 40,
    "start_delay_s": 30,
    "test_mass": 3.6,
    "ring_diameter": 300,
    "elapsed_s": 64,
}


class Sent(NamedTuple):
    """What is asked of the server. kind: the line of the table it counts in."""

    kind: str
    path: str
    method: str = "GET"
    body: bytes | None = None
    fields: dict[str, str] = {}


class Seen(NamedTuple):
    """What came of it. status: 0 where the connection broke."""

    kind: str
    status: int
    wall_s: float


Asking = Callable[[random.Random], Iterator[Sent]]


class Places(NamedTuple):
    """Some rows of the firm that people open."""

    surfaces: list[Any]
    sites: list[Any]
    pages: int


def main() -> None:
    """Make the firm where it is not there, serve it, let people in, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--surfaces", type=int, default=10_000)
    parser.add_argument("--users", type=int, default=20)
    parser.add_argument("--minutes", type=float, default=3.0)
    parser.add_argument("--think-s", type=float, default=2.0, help="mean time between two pages of a person")
    parser.add_argument(
        "--night", action="store_true", help="do the periodic work meanwhile, which begins with the night's"
    )
    parser.add_argument("--folder", type=Path, help="kept, and used again")
    asked = parser.parse_args()
    with _folder(asked.folder) as folder:
        set_up(folder)
        firm = _firm(BIG_NAME, asked.surfaces)
        people = _people(firm, asked.users)
        with _server(folder, asked.night) as (address, process):
            begun = _memory_mb(process)
            seen = _let_in(people, address, asked.minutes * 60, asked.think_s)
            _print(seen, asked.minutes)
            print(
                f"memory of the server's processes: {begun:.0f} MB at first, {_memory_mb(process):.0f} MB at the end"
            )


def _people(firm: Firm, users: int) -> list[Asking]:
    """In turn: half in the office, then a planner, an owner, a technician, a program."""
    places = _places(firm)
    kinds = [
        _office(firm, places),
        _planner(firm),
        _office(firm, places),
        _owner(firm, places),
        _office(firm, places),
        _technician(firm, places),
        _office(firm, places),
        _program(firm, places),
    ]
    return [kinds[n % len(kinds)] for n in range(users)]


def _places(firm: Firm) -> Places:
    from qa.models import Site, Surface

    surfaces = Surface.objects.of_organisation(firm.organisation)
    return Places(
        list(surfaces.order_by("name")[:2_000]),
        list(Site.objects.of_organisation(firm.organisation).order_by("name")[:200]),
        surfaces.count() // 50,
    )


def _office(firm: Firm, places: Places) -> Asking:
    from django.urls import reverse

    cookie = _cookie(firm.person)
    listed, todo, portfolio = (
        reverse(name)
        for name in ("maintenance:surface-list", "reporting:todo-list", "reporting:portfolio-show")
    )

    def ask(rng: random.Random) -> Iterator[Sent]:
        while True:
            surface, site = rng.choice(places.surfaces), rng.choice(places.sites)
            yield Sent("to do", todo, fields=cookie)
            yield Sent("surfaces", f"{listed}?page={rng.randint(1, places.pages)}", fields=cookie)
            yield Sent("one surface", surface.get_absolute_url(), fields=cookie)
            yield Sent("one site", site.get_absolute_url(), fields=cookie)
            if rng.random() < 0.2:
                yield Sent("report of 20", reverse("reporting:report-site", args=[site.pk]), fields=cookie)
            if rng.random() < 0.1:
                yield Sent("portfolio", portfolio, fields=cookie)

    return ask


def _planner(firm: Firm) -> Asking:
    from django.urls import reverse

    cookie = _cookie(firm.person)
    names = ("planning:visit-list", "planning:calendar-show", "reporting:todo-list", "planning:due-list")
    paths = [reverse(name) for name in names]

    def ask(rng: random.Random) -> Iterator[Sent]:
        while True:
            yield Sent("planning", rng.choice(paths), fields=cookie)

    return ask


def _owner(firm: Firm, places: Places) -> Asking:
    from django.urls import reverse

    cookie = _cookie(owner_person(firm))

    def ask(rng: random.Random) -> Iterator[Sent]:
        while True:
            site = rng.choice(places.sites)
            yield Sent("an owner's site", site.get_absolute_url(), fields=cookie)
            yield Sent("report of 20", reverse("reporting:report-site", args=[site.pk]), fields=cookie)

    return ask


def _technician(firm: Firm, places: Places) -> Asking:
    """Somebody whose phone sends rounds that it kept."""
    from django.urls import reverse

    cookie = _cookie(firm.person)
    token = cookie["X-CSRFToken"]

    def ask(rng: random.Random) -> Iterator[Sent]:
        device = str(uuid4())
        while True:
            path = reverse("qa:round-create", args=[rng.choice(places.surfaces).pk])
            entry = reverse("fieldwork:field-entry", args=[uuid4()])
            kind, body = _multipart(_entry(firm.person, path, device))
            yield Sent(
                "a phone's round", entry, "PUT", body, cookie | {"Content-Type": kind, "X-CSRFToken": token}
            )
            yield Sent("a form", path, fields=cookie)

    return ask


def _entry(person: Any, path: str, device: str) -> dict[str, Any]:
    at = datetime.now(UTC)
    fields = {
        "tested_on": at.date().isoformat(),
        "purpose": "routine",
        "hours_since_rain": "60",
        "device_id": str(uuid4()),
    }
    return {
        "path": path,
        "made_at": at.isoformat(),
        "sent_at": at.isoformat(),
        "device": device,
        "person": str(person.pk),
        "firm": "",
        "form_version": "1",
        "title": "Round",
        "about": "Yard",
        "by_clock": [],
        "known_offset_ms": None,
        "known_at": None,
        "fields": [[name, value] for name, value in fields.items()],
    }


def _multipart(meta: dict[str, Any]) -> tuple[str, bytes]:
    from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart

    return MULTIPART_CONTENT, encode_multipart(BOUNDARY, {"meta": json.dumps(meta)})


def _program(firm: Firm, places: Places) -> Asking:
    """A program that reads lists and records a round with its test."""
    from accounts.calc.roles import Role
    from api.calc.scopes import Scope
    from api.models import ApiToken
    from api.selectors.tokens import Place
    from api.services.tokens import make_token

    ApiToken.objects.filter(person=firm.person).delete()  # of runs before
    made = make_token(
        place=Place(firm.organisation, Role.ADMIN),
        person=firm.person,
        name="Load",
        scopes=list(Scope),
        days=30,
    )
    fields = {"Authorization": f"Bearer {made.secret}", "Content-Type": "application/json"}

    def ask(rng: random.Random) -> Iterator[Sent]:
        while True:
            surface, key = str(rng.choice(places.surfaces).pk), uuid4()
            round_ = {
                "surface": surface,
                "tested_on": datetime.now(UTC).date().isoformat(),
                "purpose": "routine",
            }
            test = {"round": str(key), "spot": "By the gate", "keep_anyway": True, "readings": READINGS}
            yield Sent("API, read", "/api/surfaces?page_size=50", fields=fields)
            yield Sent("API, read", f"/api/tests?surface={surface}", fields=fields)
            yield Sent("API, round", f"/api/rounds/{key}", "PUT", json.dumps(round_).encode(), fields)
            yield Sent("API, test", f"/api/tests/{uuid4()}", "PUT", json.dumps(test).encode(), fields)

    return ask


def _cookie(person: Any) -> dict[str, str]:
    """Fields that a browser of somebody signed in sends."""
    from django.test import Client

    client = Client()
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")
    session = "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())
    token = "b" * 32
    return {"Cookie": f"{session}; csrftoken={token}", "X-CSRFToken": token}


@contextmanager
def _server(folder: Path, night: bool) -> Iterator[tuple[tuple[str, int], int]]:
    """A server on a free port, until it is no longer wanted; its address and process."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port = listener.getsockname()[1]
    manage = [sys.executable, str(ROOT / "manage.py")]
    subprocess.run([*manage, "collectstatic", "--noinput", "-v0"], check=True)
    serve = [*manage, "serve", "--bind", f"127.0.0.1:{port}", *([] if night else ["--no-clock"])]
    with (folder / "server.log").open("w") as log:
        server = subprocess.Popen(serve, stdout=log, stderr=log)
        try:
            _wait_for(("127.0.0.1", port))
            yield ("127.0.0.1", port), server.pid
        finally:
            server.terminate()
            server.wait(ENDED_WITHIN_S)


def _wait_for(address: tuple[str, int]) -> None:
    by = time.monotonic() + STARTED_WITHIN_S
    while time.monotonic() < by:
        if _ask(http.client.HTTPConnection(*address, timeout=5), Sent("ready", "/ready/")).status == READY:
            return
        time.sleep(0.5)
    raise TimeoutError("The server did not get ready; its folder has server.log.")


def _let_in(people: list[Asking], address: tuple[str, int], seconds: float, think_s: float) -> list[Seen]:
    seen: list[Seen] = []
    end = time.monotonic() + seconds
    threads = [
        threading.Thread(target=_visit, args=(ask, random.Random(n), address, end, think_s, seen))
        for n, ask in enumerate(people)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return seen


def _visit(
    ask: Asking, rng: random.Random, address: tuple[str, int], end: float, think_s: float, seen: list[Seen]
) -> None:
    connection = http.client.HTTPConnection(*address, timeout=120)
    for sent in ask(rng):
        if time.monotonic() >= end:
            return
        time.sleep(rng.expovariate(1 / think_s) if think_s else 0.0)
        if rng.random() < SIGN_IN_SHARE:
            seen.append(
                _ask(http.client.HTTPConnection(*address, timeout=120), Sent(SIGN_IN, "/sign-in/login/"))
            )
        seen.append(_ask(connection, sent))


def _ask(connection: http.client.HTTPConnection, sent: Sent) -> Seen:
    """Ask once more where the connection was kept open and the server ended it meanwhile, as browsers do."""
    begun, was_open = time.perf_counter(), connection.sock is not None
    try:
        return Seen(sent.kind, _status_of(connection, sent), time.perf_counter() - begun)
    except (OSError, http.client.HTTPException):
        connection.close()
        return _ask(connection, sent) if was_open else Seen(sent.kind, 0, time.perf_counter() - begun)


def _status_of(connection: http.client.HTTPConnection, sent: Sent) -> int:
    connection.request(sent.method, sent.path, sent.body, {"Host": "127.0.0.1", **sent.fields})
    answer = connection.getresponse()
    answer.read()
    return answer.status


def _memory_mb(process: int) -> float:
    """What a process and its children hold for themselves alone."""
    told = subprocess.run(
        ["ps", "-e", "-o", "pid=,ppid=,rss="], capture_output=True, encoding="utf-8", check=True
    )
    rows = [tuple(map(int, line.split())) for line in told.stdout.splitlines()]
    family, grew = {process}, True
    while grew:
        more = {pid for pid, parent, _ in rows if parent in family} - family
        family |= more
        grew = bool(more)
    return sum(rss for pid, _, rss in rows if pid in family) / 1024


def _print(seen: list[Seen], minutes: float) -> None:
    times: dict[str, list[float]] = defaultdict(list)
    for one in seen:
        times[one.kind].append(one.wall_s)
    base = _at_95(times[SIGN_IN])
    print(f"{len(seen)} answers, {len(seen) / minutes / 60:.1f} a second")
    print(f"{'page':20}{'times':>7}{'middle s':>10}{'95 % s':>9}{'/sign-in':>10}")
    for kind, taken in sorted(times.items()):
        print(
            f"{kind:20}{len(taken):7}{statistics.median(taken):10.3f}{_at_95(taken):9.3f}{_at_95(taken) / base:10.1f}"
        )
    wrong = Counter((one.kind, one.status) for one in seen if not 200 <= one.status < 300)
    print("no success:", dict(wrong) or "none")


def _at_95(taken: list[float]) -> float:
    return sorted(taken)[int(0.95 * (len(taken) - 1))] if taken else float("nan")


if __name__ == "__main__":
    main()

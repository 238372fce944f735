"""What a search costs in a firm of ten thousand surfaces, beside an empty page and the plain list in the same run.

    python -m benchmarks.searching [--surfaces 10000] [--folder somewhere]

Sites get addresses with post codes, and every tenth surface a visit. Each page is fetched in a process of its own; what
stands there is processor time, of the database too where it is embedded. A folder that is named is kept and used again.
"""

from __future__ import annotations

import argparse
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import Any

from benchmarks.firm_at_size import BATCH, Firm, make_firm, set_up
from benchmarks.pages_at_size import Cost, _cost, _folder, in_child

NAME, REPEATS = "Firm that searches", 5
MOST_CPU_S = 0.1  # what a search may take at ten thousand surfaces
STREETS = ("Weir Lane", "Mühlweg", "Harbour Street", "Ødegård", "Rue de l’Écluse", "Station Road")
SEARCHES = {
    "one word, rare": "004711",
    "one word, all": "surface",
    "address": "muhlweg 17",
    "post code": "AB12 3CD",
    "three words": "surface site 0004 weir",
    "accents": "Écluse ODEGARD",
    "a month": "2026-03",
    "nothing": "there is no such place",
}


def main() -> None:
    """Print one line a search, with its ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--surfaces", type=int, default=10_000)
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    with _folder(asked.folder) as folder:
        set_up(folder)
        _print(_firm(asked.surfaces), asked.surfaces)


def _firm(surfaces: int) -> Firm:
    from accounts.models import Organisation

    there = Organisation.objects.filter(name=NAME).first()
    if there:
        return Firm(there, there.memberships.get().user)
    firm = make_firm(NAME, surfaces, forecasts=False)
    _addresses(firm)
    _visits(firm)
    return firm


def _addresses(firm: Firm) -> None:
    from qa.models import Site

    for n, site in enumerate(Site.objects.of_organisation(firm.organisation)):
        site.address = f"{n % 90} {STREETS[n % len(STREETS)]}, AB{n % 30} {n % 9}CD Ossenfell"
        site.save()


def _visits(firm: Firm) -> None:
    from planning.models import Crew, Visit, VisitTask
    from qa.models import Surface

    crew = Crew.objects.create(organisation=firm.organisation, name="Crew North")
    rows = list(Surface.objects.of_organisation(firm.organisation)[::10])
    visits = [
        Visit(organisation=firm.organisation, crew=crew, visit_on=date(2026, 1, 1) + timedelta(days=n % 300))
        for n in range(len(rows))
    ]
    Visit.objects.bulk_create(visits, BATCH)
    tasks = [VisitTask(visit=v, surface=s, action="test") for v, s in zip(visits, rows, strict=True)]
    VisitTask.objects.bulk_create(tasks, BATCH)


def _pages() -> dict[str, str]:
    from django.urls import reverse
    from django.utils.http import urlencode

    search = reverse("reporting:search-show")
    pages = {"empty search": search, "plain list": reverse("maintenance:surface-list")}
    pages |= {name: f"{search}?{urlencode({'q': text})}" for name, text in SEARCHES.items()}
    return pages | {"all surfaces, page 90": f"{search}?q=surface&kind=surface&page=90"}


def _print(firm: Firm, surfaces: int) -> None:
    from django.db import connection

    print(f"{surfaces} surfaces, {connection.vendor}; at most {MOST_CPU_S} s are wanted")
    print(f"{'page':24}{'cpu s':>8}{'queries':>9}{'/empty':>8}{'/list':>8}")
    costs: dict[str, Cost] = {}
    for name, path in _pages().items():
        seen: Any = in_child(partial(_cost, firm, path, REPEATS))
        assert seen.status == 200, f"{path} answered {seen.status}"
        costs[name] = seen
        bare, listed = costs["empty search"], costs.get("plain list", seen)
        print(
            f"{name:24}{seen.cpu_s:8.3f}{seen.queries:9}{seen.cpu_s / bare.cpu_s:8.1f}{seen.cpu_s / listed.cpu_s:8.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()

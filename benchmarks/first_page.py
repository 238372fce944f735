"""The first page of a firm with 10,000 surfaces and 7,000 open pieces of advice, against one with a hundredth of that.

    python -m benchmarks.first_page

Makes a database of its own beside the usual one and removes it. Prints the processor time of a page in milliseconds,
the middle of several, and the ratio to the small firm's.
"""

import os
import random
import sys
import tempfile
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from statistics import median
from time import process_time
from typing import Any

REPEATS = 7
SIZES = ((100, 70), (10_000, 7_000))  # surfaces, pieces of advice
PAGES = (
    "/",
    "/?page=40",
    "/?kind=clean",
    "/?state=clean_soon",
    "/?q=site+11",
    "/?release=released",
    "/?shown=planned",
)
LATEST_MS = 300


def main() -> int:
    """Print the table; 1 where the large firm's page takes longer than LATEST_MS."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"RAINTHROUGH_DATA_DIR": folder, "RAINTHROUGH_DEMO": "1", "RAINTHROUGH_HTTPS": "0"}
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        import django

        django.setup()
        from django.core.management import call_command

        call_command("collectstatic", verbosity=0, interactive=False)
        call_command("migrate", verbosity=0)
        people = [_firm(*size) for size in SIZES]
        from operations.services.statistics import renew_statistics

        renew_statistics()  # as the clock has it done every hour
        return _report([[_page_ms(person, page) for page in PAGES] for person in people])


def _report(found: list[list[float]]) -> int:
    small, large = found
    print(f"{'page':<22}{'small ms':>10}{'large ms':>10}{'ratio':>8}")
    for page, few, many in zip(PAGES, small, large, strict=True):
        print(f"{page:<22}{few:>10.0f}{many:>10.0f}{many / few:>8.1f}")
    return int(max(large) > LATEST_MS)


def _page_ms(person: object, path: str) -> float:
    from django.test import Client

    client = Client(SERVER_NAME="localhost")
    client.force_login(person)  # type: ignore[arg-type]
    client.get(path)  # templates are read once
    return median(_once(client, path) for _ in range(REPEATS))


def _once(client: object, path: str) -> float:
    began = process_time()
    answer = client.get(path)  # type: ignore[attr-defined]
    took = 1000.0 * (process_time() - began)
    assert answer.status_code == 200, answer.status_code
    return took


def _firm(surfaces: int, advised: int) -> object:
    """A firm with so many surfaces and open pieces of advice; gives its coordinator."""
    from accounts.calc.roles import Role
    from accounts.models import Membership, Organisation, Owner, User
    from maintenance.models import AdviceRelease, Forecast, Recommendation
    from maintenance.services.releases import content_of
    from qa.models import Site, Surface

    draw, today = random.Random(surfaces), date(2026, 6, 1)
    firm = Organisation.objects.create(name=f"Firm of {surfaces}")
    person = User.objects.create(email=f"of{surfaces}@firm.example")
    Membership.objects.create(organisation=firm, user=person, role=Role.COORDINATOR)
    owners = Owner.objects.bulk_create(
        Owner(organisation=firm, name=f"Owner {n}") for n in range(max(3, surfaces // 50))
    )
    sites = Site.objects.bulk_create(
        Site(organisation=firm, owner=draw.choice(owners), name=f"Site {n}") for n in range(surfaces // 3)
    )
    rows = Surface.objects.bulk_create(
        Surface(
            site=draw.choice(sites),
            name=f"Surface {n}",
            surface_type="picp",
            area_m2=draw.uniform(50, 5000),
            opened_on=today - timedelta(days=draw.randint(1, 5000)),
            guarantee_months=draw.choice([None, 24, 60]),
            limit_mm_h=250.0,
            limit_source="agreed",
        )
        for n in range(surfaces)
    )
    _record(rows, today)
    states = ["draining", "watch", "clean_soon", "below_limit", "not_tested"]
    curves = {"curve": [draw.random() for _ in range(500)]}  # as large as those of a real forecast
    Forecast.objects.bulk_create(
        (
            Forecast(surface=row, state="done", surface_state=draw.choice(states), outlook_json=curves)
            for row in rows
        ),
        batch_size=1000,
    )
    pieces = Recommendation.objects.bulk_create(_advice(draw, row, today) for row in [*rows, *rows][:advised])
    AdviceRelease.objects.bulk_create(
        AdviceRelease(
            recommendation=row,
            surface=row.surface,
            released_by=person,
            content_json=content_of(row).to_json(),
        )
        for row in draw.sample(pieces, advised // 3)
    )
    return person


def _record(rows: Sequence[Any], today: date) -> None:
    """What a surface of some age has: a first test, and joints topped up."""
    from maintenance.models import CleaningEvent
    from qa.models import InfiltrationTest, TestRound

    tested = [row for row in rows if (today - row.opened_on).days > 40]
    rounds = TestRound.objects.bulk_create(
        TestRound(surface=row, tested_on=row.opened_on, hours_since_rain=48.0) for row in tested
    )
    InfiltrationTest.objects.bulk_create(
        InfiltrationTest(
            round=one, test_mass=3.6, ring_diameter=300.0, elapsed_s=150.0, rate_mm_h=900.0, is_valid=True
        )
        for one in rounds
    )
    CleaningEvent.objects.bulk_create(
        CleaningEvent(
            surface=row,
            cleaned_on=row.opened_on + timedelta(days=180),
            method="joint_refill",
            currency="EUR",
        )
        for row in rows
        if (today - row.opened_on).days > 200
    )


def _advice(draw: random.Random, surface: Any, today: date) -> Any:
    from maintenance.calc.advice_payload import Grounds
    from maintenance.models import Recommendation

    reasons = tuple("It saves {money:450.00 EUR} against waiting. " * 2 for _ in range(4))
    row = Recommendation(
        surface=surface,
        action=draw.choice(["clean", "clean", "test", "rejoint", "source"]),
        due_on=today + timedelta(days=draw.randint(-100, 365)),
        earliest_on=today,
        cost=Decimal(draw.randint(100, 9000)),
        currency="EUR",
        waiting_costs=Decimal(draw.randint(0, 3000)),
        crew_hours=draw.uniform(1, 20),
    )
    row.grounds = Grounds(1, reasons)
    return row


if __name__ == "__main__":
    sys.exit(main())

"""An invented firm of any size, stored in bulk: sites of twenty surfaces, tests, forecasts, open advice.

Settings are made for a folder of its own, or for the database that DATABASE_URL names, which must be empty.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np

SURFACES_A_SITE = 20
ROUNDS, TESTS_A_ROUND = 5, 4
ADVISED_SHARE = 0.7
FORECAST_FROM = 10  # surfaces whose forecasts are made in earnest; the others get copies of them
RATE_TIMES_S = (
    45_000.0  # mm/h times s, by the mass and diameter below; near enough for what nobody computes with
)
TYPES = ("picp", "resin_joint", "porous_asphalt", "pervious_concrete")
BATCH = 2_000


def set_up(folder: Path) -> None:
    """Settings with all data in a folder, and an empty database brought up to date."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    os.environ |= {"RAINTHROUGH_DATA_DIR": str(folder), "RAINTHROUGH_HTTPS": "0"}
    os.environ.pop("REDIS_URL", None)
    import django

    django.setup()
    from django.conf import settings
    from django.core.management import call_command

    settings.ALLOWED_HOSTS.append("testserver")
    settings.STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    call_command("migrate", verbosity=0)


@dataclass(frozen=True, slots=True)
class Firm:
    """A stored firm, and the person who runs it."""

    organisation: Any
    person: Any


def make_firm(name: str, surfaces: int, *, forecasts: bool = True, seed: int = 5) -> Firm:
    """Store a firm of so many surfaces. forecasts: whether they are made already, with advice."""
    from operations.services.statistics import renew_statistics

    rng = np.random.default_rng(seed)
    firm = _people(name)
    rows = list(_surfaces(firm, surfaces, rng))
    for batch in _batches(rows, BATCH):
        _rounds_and_tests(batch, rng)
    if forecasts:
        _forecasts(rows, rng)
    renew_statistics()  # as the clock has it done every hour
    return firm


def _people(name: str) -> Firm:
    from accounts.calc.roles import Role
    from accounts.models import Membership, Organisation, User

    organisation = Organisation.objects.create(name=name)
    person = User.objects.create(email=f"office@{name.lower().replace(' ', '-')}.example")
    Membership.objects.create(organisation=organisation, user=person, role=Role.ADMIN)
    return Firm(organisation, person)


def owner_person(firm: Firm) -> Any:
    """Somebody who reads all surfaces of the firm for their owner."""
    from accounts.models import Owner, OwnerPerson, User

    person, _ = User.objects.get_or_create(email="reader@owner-of-all.example")
    OwnerPerson.objects.get_or_create(owner=Owner.objects.get(organisation=firm.organisation), user=person)
    return person


def _surfaces(firm: Firm, surfaces: int, rng: np.random.Generator) -> Iterator[Any]:
    from accounts.models import Owner
    from qa.models import Site, Surface

    count = -(-surfaces // SURFACES_A_SITE)
    owner = Owner.objects.create(organisation=firm.organisation, name="Owner of all")
    sites = [
        Site(organisation=firm.organisation, owner=owner, name=f"Site {n:05}", time_zone="Europe/Berlin")
        for n in range(count)
    ]
    Site.objects.bulk_create(sites, BATCH)
    rows = [
        Surface(
            site=sites[n // SURFACES_A_SITE],
            name=f"Surface {n:06}",
            surface_type=TYPES[n % len(TYPES)],
            area_m2=float(np.round(rng.uniform(50, 3000))),
            opened_on=date(2019, 5, 1) + timedelta(days=int(rng.integers(0, 700))),
            limit_mm_h=250.0,
            limit_source="agreed with the owner",
            agreed_limit_mm_h=250.0,
        )
        for n in range(surfaces)
    ]
    yield from Surface.objects.bulk_create(rows, BATCH)


def _rounds_and_tests(surfaces: list[Any], rng: np.random.Generator) -> None:
    from qa.models import InfiltrationTest, TestRound

    rounds = [
        TestRound(
            surface=surface,
            tested_on=surface.opened_on + timedelta(days=365 * n + 10),
            purpose="acceptance" if n == 0 else "routine",
            hours_since_rain=48.0,
        )
        for surface in surfaces
        for n in range(ROUNDS)
    ]
    TestRound.objects.bulk_create(rounds, BATCH)
    tests = (one_test(round_, n, rng) for round_ in rounds for n in range(TESTS_A_ROUND))
    InfiltrationTest.objects.bulk_create(tests, BATCH)


def one_test(round_: Any, spot: int, rng: np.random.Generator) -> Any:
    """A test of a round, unsaved."""
    from qa.models import InfiltrationTest

    years = (round_.tested_on - round_.surface.opened_on).days / 365.25
    rate = float(np.round(2500.0 * np.exp(-0.35 * years + rng.normal(0.0, 0.5)), 1))
    return InfiltrationTest(
        round=round_,
        spot=f"spot {spot}",
        prewet_mass=3.6,
        prewet_time_s=45.0,
        start_delay_s=60.0,
        test_mass=3.6,
        ring_diameter=300.0,
        elapsed_s=RATE_TIMES_S / rate,
        rate_mm_h=rate,
        bound="=",
        made_at=datetime.combine(round_.tested_on, datetime.min.time(), UTC),
    )


def _forecasts(surfaces: list[Any], rng: np.random.Generator) -> None:
    from maintenance.models import Forecast
    from maintenance.services.forecasts import refresh

    for surface in surfaces[:FORECAST_FROM]:
        refresh(surface.pk)
    made = list(Forecast.objects.filter(surface__in=surfaces[:FORECAST_FROM]).order_by("surface__name"))
    copies = (_copy(made[n % len(made)], surface) for n, surface in enumerate(surfaces) if n >= len(made))
    for batch in _batches(copies, BATCH // 4):
        Forecast.objects.bulk_create(batch)
    _advice([s for s in surfaces[FORECAST_FROM:] if rng.random() < ADVISED_SHARE])


def _copy(forecast: Any, surface: Any) -> Any:
    row = type(forecast)(surface=surface)
    for field in forecast._meta.concrete_fields:
        if field.name not in ("id", "surface", "created_at"):
            setattr(row, field.attname, getattr(forecast, field.attname))
    return row


def _advice(surfaces: list[Any]) -> None:
    from maintenance.calc.advice_payload import Grounds
    from maintenance.models import Recommendation

    today = datetime.now(UTC).date()
    grounds = Grounds(1, ("It was last tested a year ago.", "Another sentence that says why.")).to_json()
    rows = [
        Recommendation(
            surface=surface,
            action="test",
            due_on=today + timedelta(days=n % 360 - 40),
            earliest_on=today,
            currency="EUR",
            grounds_json=grounds,
        )
        for n, surface in enumerate(surfaces)
    ]
    Recommendation.objects.bulk_create(rows, BATCH)


def _batches(rows: Iterable[Any], size: int) -> Iterator[list[Any]]:
    left = iter(rows)
    while batch := list(islice(left, size)):
        yield batch

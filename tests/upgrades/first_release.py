"""The database of the first release, kept so that every later edition is held to it.

`make first-release` runs this as `python -m tests.upgrades.first_release`: it migrates an empty database, has an
invented firm in it with a row of each kind, fits, forecasts and kept documents, and writes two files beside itself:
what the database holds as SQL, and the digest of each migration that made it. As soon as an app has a second
migration the first release is out, and this refuses to make another one.
"""

import json
import lzma
import os
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from datetime import date, timedelta
from hashlib import sha256
from pathlib import Path
from random import Random

import django
import time_machine
from django.core.management import call_command

from tests.clock import START
from tests.concurrency.servers import ROOT, server_environment

DUMP = Path(__file__).with_name("first_release.sql.xz")
DIGESTS = Path(__file__).with_name("first_release.json")
ADMIN, PASSWORD = "admin@first.example", "soak-away-first-release"
YEARS = (2021, 2022, 2023, 2024, 2025)
OUT_ALREADY = (
    "The first release is out: {names} came after it. Its database and its migrations stay as they are; "
    "add a migration instead of making the first one anew."
)


def our_migrations(root=ROOT):
    """The files of migrations of our apps, by `app.name`."""
    found = sorted(root.glob("*/migrations/[0-9]*.py"))
    return {f"{path.parts[-3]}.{path.stem}": path for path in found}


def digests(files):
    """What each file says, in 64 digits."""
    return {name: sha256(path.read_bytes()).hexdigest() for name, path in files.items()}


def later_than_the_first(names):
    """Those that were added to an app that has one."""
    return [name for name in names if not name.partition(".")[2].startswith("0001_")]


def restore_into(file):
    """Write the database of the first release to that file, which must not be there."""
    with closing(sqlite3.connect(file)) as connection:
        connection.executescript(lzma.decompress(DUMP.read_bytes()).decode("utf-8"))


def write_down(file):
    """Keep what that database holds, and what its migrations say."""
    with closing(sqlite3.connect(file)) as connection:
        text = "\n".join(connection.iterdump())
    DUMP.write_bytes(lzma.compress(text.encode("utf-8"), preset=9 | lzma.PRESET_EXTREME))
    DIGESTS.write_text(json.dumps(digests(our_migrations()), indent=2) + "\n", encoding="utf-8")


def furnish():
    """An invented firm: a row of each kind, and surfaces with years of record, a fit, forecasts and documents."""
    from tests.conftest import new_firm
    from tests.permissions import rows_of

    firm = new_firm()
    rows_of(firm)
    firm.admin.email = ADMIN
    firm.admin.set_password(PASSWORD)
    firm.admin.save()
    _built(firm)
    surfaces = [firm.surface, *_more_surfaces(firm.site)]
    for number, surface in enumerate(surfaces):
        _recorded(surface, number)
    _worked_out(firm)
    _kept(firm)


def _built(firm):
    """What the rows of each kind leave out: layers, an outline with places, an agreement, a plan of care."""
    from demo.calc.shapes import plan_of, spots_on
    from operations.models import Sign
    from planning.models import Agreement
    from qa.services.plans import save_plan
    from tests.factories import LayerFactory, SitePlanFactory

    LayerFactory(surface=firm.surface)
    plan = plan_of(firm.surface.area_m2, Random(1))
    spots = spots_on(plan, 3, seed=1)
    save_plan(surface=firm.surface, plan=plan, spots=spots, keep_locations=False)
    Agreement.objects.create(site=firm.site, since=START.date(), tests_per_year=1, cleanings_per_year=1)
    SitePlanFactory(site=firm.site)
    Sign.objects.create(of="clock", seen_at=START)


def _more_surfaces(site):
    from tests.factories import SurfaceFactory

    kinds = ("porous_asphalt", "resin_bound")
    return [SurfaceFactory(site=site, name=f"Yard {kind}", surface_type=kind) for kind in kinds]


def _recorded(surface, number):
    """A round of two tests a year, ever slower, and a cleaning in the middle."""
    from tests.factories import CleaningFactory, InfiltrationTestFactory, RoundFactory

    for year in YEARS:
        round_ = RoundFactory(surface=surface, tested_on=date(year, 5, 4 + number))
        for spot in range(2):
            slower_s = 40.0 * (year - YEARS[0]) + 15.0 * spot
            InfiltrationTestFactory(round=round_, elapsed_s=90.0 + 20.0 * number + slower_s)
    CleaningFactory(surface=surface, cleaned_on=date(2023, 9, 1))


def _worked_out(firm):
    from maintenance.models import Forecast
    from maintenance.services import fits, forecasts
    from qa.models import Surface

    fits.run_fit(fits.request_fit(organisation=firm.organisation).pk)
    for surface in Surface.objects.of_organisation(firm.organisation):
        Forecast.objects.get_or_create(surface=surface)
        forecasts.force_refresh(surface=surface)


def _kept(firm):
    from accounts.calc.audience import Audience
    from reporting.services.kept import freeze_handover, freeze_report

    for audience in (Audience.OWNER, Audience.FIRM):
        since = START.date() - timedelta(days=3 * 365)
        freeze_report(site=firm.site, audience=audience, since=since, by=firm.admin)
        freeze_handover(surface=firm.surface, audience=audience, by=firm.admin)


def make():
    """Make both files, in a folder of its own and by the clock of the tests."""
    late = later_than_the_first(our_migrations())
    if late:
        raise SystemExit(OUT_ALREADY.format(names=", ".join(late)))
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "tests.upgrades.first_release", "inside", folder]
        subprocess.run(command, cwd=ROOT, env=server_environment(folder), check=True)
    print(f"{DUMP.name}: {DUMP.stat().st_size:,} bytes")  # noqa: T201


def make_inside(folder):
    """The same, where the settings lead to that folder."""
    django.setup()
    with time_machine.travel(START, tick=True):
        call_command("migrate", verbosity=0)
        furnish()
    write_down(Path(folder) / "firm.sqlite3")


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    make_inside(sys.argv[2]) if "inside" in sys.argv else make()

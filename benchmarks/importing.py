"""Taking in 20,000 tests from a sheet, beside storing the same tests one by one and as bare rows: seconds of CPU.

Invented: 500 surfaces at 25 sites, 4 rounds of 10 tests each. Looked through and stored as the job does it; one by one
is form and service of a twentieth of the tests, times twenty; bare is `bulk_create` of the rows, nothing looked at.
"""

import os
from datetime import date, timedelta
from io import BytesIO
from time import process_time

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings_test")
django.setup()

from django.core.files.uploadedfile import SimpleUploadedFile  # noqa: E402  # the settings come first
from django.db import transaction  # noqa: E402  # the settings come first
from django.test.runner import DiscoverRunner  # noqa: E402  # the settings come first
from openpyxl import Workbook  # noqa: E402  # the settings come first

from accounts.calc.roles import Role  # noqa: E402  # the settings come first
from accounts.models import Membership, Organisation, User  # noqa: E402  # the settings come first
from accounts.services.people import found_organisation  # noqa: E402  # the settings come first
from core import tasks  # noqa: E402  # the settings come first
from core.services import jobs  # noqa: E402  # the settings come first
from exchange.models import DataImport  # noqa: E402  # the settings come first
from exchange.services import imports  # noqa: E402  # the settings come first
from qa.forms.rounds import TestForm  # noqa: E402  # the settings come first
from qa.models import InfiltrationTest, TestRound  # noqa: E402  # the settings come first
from qa.services.rounds import record_test  # noqa: E402  # the settings come first

SITES, SURFACES, ROUNDS, SPOTS = 25, 20, 4, 10
TESTS = SITES * SURFACES * ROUNDS * SPOTS
FIRST = date(2022, 5, 2)
REGISTER = (
    "Owner",
    "Site",
    "Surface",
    "Type",
    "Area (m2)",
    "Opened on",
    "Limit (mm/h)",
    "Where it is agreed",
)
READINGS = (
    *("Site", "Surface", "Date", "Spot", "Prewet time (s)"),
    *("Start after prewetting (s)", "Mass (kg)", "Diameter (mm)", "Time (s)"),
)


def workbook() -> bytes:
    """The register and the tests as a firm would send them."""
    book = Workbook(write_only=True)
    register, tests = book.create_sheet("Surfaces"), book.create_sheet("Tests")
    register.append(REGISTER)
    tests.append(READINGS)
    for n in range(SITES):
        for m in range(SURFACES):
            site, surface = f"Site {n}", f"Surface {m}"
            register.append(
                ("Owner", site, surface, "Porous asphalt", 500 + m, date(2020, 1, 6), 250, "Contract")
            )
            for r in range(ROUNDS):
                for k in range(SPOTS):
                    day = FIRST + timedelta(days=180 * r)
                    tests.append((site, surface, day, f"A{k}", 25, 60, 18.0, 300, 200 + 7 * k + 40 * r))
    sent = BytesIO()
    book.save(sent)
    return sent.getvalue()


def timed(label: str, factor: float, work: object) -> float:
    """Seconds of a piece of work, printed."""
    begun = process_time()
    work()  # type: ignore[operator]
    took = (process_time() - begun) * factor
    print(f"{label:<46}{took:8.1f} s", flush=True)
    return took


def take_in(organisation: Organisation, by: User, content: bytes) -> None:
    """Send the sheets, look them through, store them: each step as a person asks for it."""
    row = DataImport(organisation=organisation, made_by=by)
    row = imports.begin_import(data_import=row, sent=[SimpleUploadedFile("records.xlsx", content)])
    if row.matching is None:
        raise ValueError("Nothing was matched.")
    timed("looked through", 1, lambda: imports.match_columns(data_import=row, matching=row.matching))
    row.refresh_from_db()
    if row.report is None or row.report.problem_count:
        raise ValueError(f"{row.error} {row.report and row.report.problems[:3]}")
    timed("stored", 1, lambda: imports.ask_to_store(data_import=row))


def one_by_one(tests: list[InfiltrationTest], by: User) -> None:
    """Form and service for each test, undone at the end."""
    with transaction.atomic():
        for old in tests:
            test = InfiltrationTest(round=old.round)
            names = ("spot", "unit_system", "test_mass", "ring_diameter", "elapsed_s", "ended")
            form = TestForm({name: getattr(old, name) for name in names}, instance=test)
            if not form.is_valid():
                raise ValueError(form.errors)
            record_test(test=test, by=by)
        transaction.set_rollback(True)


def bare(tests: list[InfiltrationTest]) -> None:
    """The rows as they are, nothing looked at, undone at the end."""
    with transaction.atomic():
        rows = [
            InfiltrationTest(**{f.attname: getattr(t, f.attname) for f in t._meta.concrete_fields})
            for t in tests
        ]
        InfiltrationTest.objects.all().delete()
        InfiltrationTest.objects.bulk_create(rows, batch_size=500)
        transaction.set_rollback(True)


def main() -> None:
    """Print the times and their ratios."""
    jobs.deliver_by(tasks.deliver, tasks.deliver_batches)  # here, and not beside
    runner = DiscoverRunner(verbosity=0)
    databases = runner.setup_databases()
    by = User.objects.create_user("bench@firm.example")
    organisation = found_organisation(by=by, name="Firm", currency="EUR")
    Membership.objects.filter(user=by).update(role=Role.ADMIN)
    content = workbook()
    whole = timed(f"{TESTS} tests taken in, both steps", 1, lambda: take_in(organisation, by, content))
    tests = list(InfiltrationTest.objects.select_related("round__surface__site"))
    if len(tests) != TESTS or TestRound.objects.count() != SITES * SURFACES * ROUNDS:
        raise ValueError(f"{len(tests)} tests were stored.")
    single = timed("the same tests by form and service, one by one", 20, lambda: one_by_one(tests[::20], by))
    raw = timed("the same rows by bulk_create, unchecked", 1, lambda: bare(tests))
    print(f"taken in: {whole / single:.2f} of one by one, {whole / raw:.1f} of bare rows")
    runner.teardown_databases(databases)


if __name__ == "__main__":
    main()

"""The people every test knows, and the clock they all live by."""

import hashlib
import logging
import os
import pickle
from contextlib import contextmanager
from copy import deepcopy
from pathlib import Path
from types import SimpleNamespace

import hypothesis
import pytest
from django.conf import settings
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.core.cache import cache
from django.core.management.commands import flush
from django.core.management.sql import sql_flush
from django.db import transaction
from django.utils import translation

from accounts.calc.roles import Role
from clogging import api
from core.presentation.plotting import Figure
from maintenance.calc.deciding import compiled
from maintenance.selectors import care
from maintenance.selectors import fits as selectors_of_fits
from maintenance.services import fits as services_of_fits
from maintenance.services import forecasts as services_of_forecasts
from reporting.presentation import pdf
from tests import clock
from tests.concurrency.servers import server_environment, told_once
from tests.factories import (
    MembershipFactory,
    OrganisationFactory,
    OwnerFactory,
    OwnerPersonFactory,
    SiteFactory,
    SurfaceFactory,
)
from tests.mail_server import MailServer
from tests.once import COMPARISONS, Remembering, printed_once, remembered
from tests.permissions import rows_of
from tests.shares import in_shares
from tests.tables import make_tables

ROLES = {
    "viewer": Role.VIEWER,
    "technician": Role.TECHNICIAN,
    "coordinator": Role.COORDINATOR,
    "admin": Role.ADMIN,
}
STARTS_PROGRAMS = {"story", "chromium", "on_postgres", "on_server", "upgraded"}  # the fixtures that do
COMMITTING = {
    "transactional_db",
    "live_server",
    "on_postgres",
    "first_release",
    "copied_release",
    "django_db_serialized_rollback",
}  # the fixtures that do
CLOCK = pytest.StashKey[clock.Clock]()
ALONE = pytest.StashKey[set]()  # paths of the modules where each test makes its own firm

# How fast an example is says how loaded the machine is, and how many are thrown away says what the seed is.
LUCK = [hypothesis.HealthCheck.too_slow, hypothesis.HealthCheck.filter_too_much]
hypothesis.settings.register_profile(
    "tests", max_examples=60, deadline=None, suppress_health_check=LUCK, print_blob=True
)
hypothesis.settings.load_profile("tests")


def pytest_configure(config):
    config.stash[CLOCK] = clock.Clock()


def pytest_collection_modifyitems(config, items):
    config.stash[ALONE] = {item.path for item in items if _commits(item) or _finds_no_firm(item)}
    workers = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    starting = [item for item in items if not STARTS_PROGRAMS.isdisjoint(item.fixturenames)]
    others = [item for item in items if STARTS_PROGRAMS.isdisjoint(item.fixturenames)]
    items[:] = in_shares(starting, others, workers)


def pytest_report_header():
    database = settings.DATABASES["default"]["ENGINE"].rpartition(".")[2]
    return f"clock: {clock.START.isoformat()}, sites in {clock.SITE_ZONE}; database: {database}"


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item):
    item.config.stash[CLOCK].back_to_start()
    translation.activate(settings.LANGUAGE_CODE)  # a page leaves its reader's language behind
    cache.clear()  # it is kept by numbers of rows, which the next test's rows get again
    logging.disable(logging.NOTSET)
    for logger in list(logging.root.manager.loggerDict.values()):
        if isinstance(logger, logging.Logger):
            logger.disabled = False  # a program run within this process may have silenced those there were


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory):
    """A SQLite file with the tables and nothing in them, to be copied for processes that a test starts."""
    return Path(told_once(tmp_path_factory, "migrated", tables_in).file)


def tables_in(folder):
    make_tables(server_environment(folder))
    return {"file": str(folder / "firm.sqlite3")}


@pytest.fixture(autouse=True, scope="session")
def every_figure_is_checked():
    """Have the chart library look at each figure that a test makes, which pages do without for their speed.

    Once at each that is the same: it takes longer than the page around it, and many tests open the same page.
    """
    plain, seen = Figure.plain, set()

    def checked(self):
        import plotly.graph_objects as go  # seconds to load, and most tests draw nothing

        made = plain(self)
        if (known := hashlib.blake2b(pickle.dumps(made)).digest()) not in seen:
            go.Figure(made)
            seen.add(known)
        return made

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Figure, "plain", checked)
        yield


@pytest.fixture(autouse=True)
def in_english_at_first():
    """A page leaves its language set, and the next test may be one that asks nobody."""
    translation.activate(settings.LANGUAGE_CODE)


@pytest.fixture(scope="session")
def shared_folder(request, tmp_path_factory):
    """A folder for what processes that share out one run need do once only; None where there is but one.

    A run that puts faults into the program is none of them: there each is to compute for itself.
    """
    if not hasattr(request.config, "workerinput"):
        return None
    folder = tmp_path_factory.getbasetemp().parent / "once"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(autouse=True, scope="session")
def programmes_are_compared_once(shared_folder):
    """What the forecasts of equal records ask for is computed once, where services and pages are tested.

    The tests of the comparison itself call it by its own module, which is left as it is.
    """
    with pytest.MonkeyPatch.context() as patched:
        for name in COMPARISONS:
            patched.setattr(care, name, remembered(getattr(care, name), shared_folder))
        yield


@pytest.fixture(autouse=True, scope="session")
def programmes_go_by_arrays():
    """A process of tests thinks through thousands of surfaces, each on few futures: not worth the compiler."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(compiled, "MANY", 10**9)
        yield


@pytest.fixture(autouse=True, scope="session")
def forecasts_and_papers_are_made_once(shared_folder):
    """Fit and forecast of equal records, and the paper of equal texts, are made once for services and pages alike.

    The tests of the model and of the compiler call these by their own modules, which are left as they are.
    """
    model = Remembering(api, "fit_portfolio", "forecast_surface", "after_cleanings", folder=shared_folder)
    with pytest.MonkeyPatch.context() as patched:
        for module in (selectors_of_fits, services_of_fits, services_of_forecasts):
            patched.setattr(module, "api", model)
        patched.setattr(pdf, "typeset", printed_once(pdf.typeset, shared_folder))
        yield


@pytest.fixture(autouse=True, scope="session")
def words_for_models_stay():
    """Kinds of rows and rights to them follow from the models: no test changes them, and to take them out after each
    that commits, and make them again, takes twenty times as long as to empty all tables.
    """

    def but_those(style, connection, **how):
        stay = tuple(f'FROM "{model._meta.db_table}"' for model in (ContentType, Permission))
        return [one for one in sql_flush(style, connection, **how) if not any(table in one for table in stay)]

    with pytest.MonkeyPatch.context() as patched:
        if settings.DATABASES["default"]["ENGINE"].endswith(
            "sqlite3"
        ):  # elsewhere it is one statement for all
            patched.setattr(flush, "sql_flush", but_those)
            patched.setattr(flush, "emit_post_migrate_signal", lambda *args, **kwargs: None)
        yield


@pytest.fixture
def mail_server(settings, monkeypatch):
    """The mail server that mails go to, which raises what a test sets."""
    settings.EMAIL_BACKEND = "tests.mail_server.MailServer"
    for name, usual in (("opening", None), ("handing", None), ("closing", None), ("tried", 0)):
        monkeypatch.setattr(MailServer, name, usual)
    return MailServer


@pytest.fixture
def firm(shared_firm, db):
    """A firm with its people, an owner with a person, a site with a surface; and an outsider with another firm.

    Each test has rows as new as if it had made them: copies here, and in the database what it changes is undone.
    """
    return new_firm() if shared_firm is None else deepcopy(shared_firm)


def new_firm():
    organisation = OrganisationFactory()
    owner = OwnerFactory(organisation=organisation)
    site = SiteFactory(owner=owner)
    people = {
        name: MembershipFactory(organisation=organisation, role=role).user for name, role in ROLES.items()
    }
    return SimpleNamespace(
        organisation=organisation,
        owner=owner,
        site=site,
        surface=SurfaceFactory(site=site),
        owner_person=OwnerPersonFactory(owner=owner).user,
        outsider=MembershipFactory(role=Role.ADMIN).user,
        **people,
    )


@pytest.fixture(scope="module")
def shared_firm(request, django_db_setup, django_db_blocker):
    """The firm of the tests of a module, made once; None where one of them commits, or may want to find none."""
    if request.path in request.config.stash[ALONE]:
        yield None
        return
    with _undone(django_db_blocker):
        with django_db_blocker.unblock(), request.config.stash[CLOCK].before_the_start():
            made = new_firm()
        yield made


def _commits(item):
    """Whether it works in transactions of its own, which others than its own connection see."""
    asks = any(mark.kwargs.get("transaction") for mark in item.iter_markers("django_db"))
    return asks or not COMMITTING.isdisjoint(item.fixturenames)


def _finds_no_firm(item):
    """Whether it asks for the database, and for no firm in it."""
    asks = "db" in item.fixturenames or item.get_closest_marker("django_db") is not None
    return asks and "firm" not in item.fixturenames


@contextmanager
def _undone(django_db_blocker):
    """A transaction around the tests of a module, for rows that they share."""
    undone = transaction.atomic()
    with django_db_blocker.unblock():
        undone.__enter__()
    yield
    with django_db_blocker.unblock():
        transaction.set_rollback(True)
        undone.__exit__(None, None, None)


@pytest.fixture(scope="module")
def standing(request, django_db_setup, django_db_blocker):
    """A firm as `firm` is, with a row of each kind, and their ids; made once for the tests of a module."""
    with _undone(django_db_blocker):
        with django_db_blocker.unblock(), request.config.stash[CLOCK].before_the_start():
            made = new_firm()
            made.rows = rows_of(made)
        yield made


@pytest.fixture
def furnished(standing, db):
    """The same for one test: what it changes is undone, in the database by its transaction, and here by copies.

    To make all those rows takes longer than most tests that need one of each. A module takes it as its `firm`.
    """
    return deepcopy(standing)

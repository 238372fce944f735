"""A firm taken out for good: a search of every column of every table finds nothing of it, and all of the others."""

from io import StringIO

import pytest
from django.apps import apps
from django.core.cache import cache
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client

from accounts.calc.roles import Role
from accounts.models import Membership, Organisation, User
from core.errors import NotAllowedNowError
from maintenance.models import CleaningEvent
from operations.services import removal
from qa.models import Site, Surface
from qa.services.register import save_surface
from tests.conftest import new_firm
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    RoundFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.refusals import refused


@pytest.fixture
def firm(furnished):
    return furnished


@pytest.fixture
def other(firm):
    """Another firm, which must not lose anything."""
    made = new_firm()
    round_ = RoundFactory(surface=made.surface)
    InfiltrationTestFactory(round=round_)
    VisitTaskFactory(surface=made.surface, visit=VisitFactory(organisation=made.organisation))
    made.cleaning = CleaningFactory(surface=made.surface, recorded_by=made.technician)
    return made


def everything():
    """Every row of every table, as text, by the name of its table."""
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
        found = {}
        for table in sorted(tables):
            cursor.execute(f'SELECT * FROM "{table}"')
            found[table] = sorted(repr(row) for row in cursor.fetchall())
    return found


def ids_of(rows):
    """The ids of rows found for removal, in both ways of writing them."""
    own = {pk for ids in rows.values() for pk in ids if not isinstance(pk, int)}
    return {str(pk) for pk in own} | {str(pk).replace("-", "") for pk in own}


def test_nothing_of_it_is_found_in_any_table_and_nothing_of_the_others_is_gone(firm, other):
    rows, _ = removal._found(firm.organisation)
    ids = ids_of(rows)
    words = {firm.organisation.name, firm.technician.email, firm.owner_person.email, firm.site.name}
    before = everything()
    assert any(pk in row for pk in ids for row in before["qa_surface"])

    removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    after = everything()
    assert len(ids) > 100
    for table, kept in after.items():
        named = [row for row in kept if any(one in row for one in ids | words)]
        assert named == [], table
        gone = {str(pk) for pk in rows.get(model_of(table), ())}
        assert len(before[table]) - len(kept) == len(gone), table


def model_of(table):
    return next((m for m in apps.get_models(include_auto_created=True) if m._meta.db_table == table), None)


def test_the_count_beforehand_is_of_what_goes(firm, other):
    counted = removal.what_goes(firm.organisation)
    assert Organisation.objects.filter(pk=firm.organisation.pk).exists()

    assert removal.remove_firm(firm=firm.organisation, name=firm.organisation.name) == counted
    assert counted.rows["surface"] >= 1


def test_histories_go_with_their_rows(firm):
    surface = firm.surface
    surface.name = "Renamed"
    save_surface(surface=surface)
    assert Surface.history.filter(id=surface.pk).exists()

    removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert not Surface.history.filter(id=surface.pk).exists()


def test_files_leave_the_disk(firm):
    files = removal.what_goes(firm.organisation).files
    assert files
    for path in files:
        if not default_storage.exists(path):  # rows of each kind are made without them
            default_storage.save(path, ContentFile(b"kept"))

    removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert not any(default_storage.exists(path) for path in files)


def test_somebody_of_another_firm_keeps_their_account_and_leaves_this_one(firm, other):
    Membership.objects.create(organisation=other.organisation, user=firm.technician, role=Role.VIEWER)

    done = removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert done.people_kept == (firm.technician.email,)
    assert firm.technician.email not in done.people
    assert [one.organisation for one in Membership.objects.filter(user=firm.technician)] == [
        other.organisation
    ]


def test_somebody_whom_a_record_of_another_firm_names_keeps_the_account(firm, other):
    CleaningEvent.objects.filter(pk=other.cleaning.pk).update(recorded_by=firm.technician)

    done = removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert done.people_kept == (firm.technician.email,)
    assert CleaningEvent.objects.get(pk=other.cleaning.pk).recorded_by == firm.technician


def test_somebody_who_left_the_firm_before_goes_with_it(firm):
    surface = firm.surface
    CleaningFactory(surface=surface, recorded_by=firm.technician)
    Membership.objects.filter(user=firm.technician).delete()

    done = removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert firm.technician.email in done.people
    assert not User.objects.filter(pk=firm.technician.pk).exists()


def test_a_file_that_cannot_be_erased_is_named(firm, monkeypatch):
    def full(path):
        raise OSError("read-only")

    monkeypatch.setattr(default_storage, "delete", full)

    done = removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert len(done.left) == len(done.files) > 0
    assert "Erase it by hand" in done.left[0]
    assert not Organisation.objects.filter(pk=firm.organisation.pk).exists()


def test_what_others_keep_in_the_cache_stays(firm):
    cache.set("tries-of-a-stranger", 3)

    removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert cache.get("tries-of-a-stranger") == 3


def test_who_runs_the_server_keeps_the_account(firm):
    User.objects.filter(pk=firm.admin.pk).update(is_staff=True)

    done = removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert firm.admin.email not in done.people
    assert User.objects.filter(pk=firm.admin.pk).exists()


def test_sessions_of_accounts_that_go_are_ended(firm):
    client = Client()
    client.force_login(firm.technician)
    assert client.get("/").status_code == 200

    removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert client.get("/").status_code == 302


def test_another_name_removes_nothing(firm):
    with refused(NotAllowedNowError, firm.organisation.name, "not Stone", "Nothing was removed"):
        removal.remove_firm(firm=firm.organisation, name="Stone")


def test_what_fails_in_the_middle_removes_nothing(firm, monkeypatch):
    before = everything()
    monkeypatch.setattr(removal, "_files_of", lambda rows: 1 / 0)

    with pytest.raises(ZeroDivisionError):
        removal.remove_firm(firm=firm.organisation, name=firm.organisation.name)

    assert everything() == before


class TestCommand:
    def run(self, *words):
        out = StringIO()
        call_command("remove_firm", *words, stdout=out)
        return out.getvalue()

    def test_without_the_name_once_more_it_counts_alone(self, firm):
        said = self.run(firm.organisation.name)

        assert "surface" in said
        assert f'--for-good "{firm.organisation.name}"' in said
        assert Site.objects.filter(pk=firm.site.pk).exists()

    def test_with_it_the_firm_is_gone(self, firm):
        said = self.run(str(firm.organisation.pk), "--for-good", firm.organisation.name)

        assert "All of it is removed" in said
        assert f"account {firm.technician.email}" in said
        assert not Organisation.objects.filter(pk=firm.organisation.pk).exists()

    @pytest.mark.parametrize("asked", ["Nobody", "6f9c7c7e-0000-4000-8000-000000000000", ""])
    def test_a_firm_that_is_none_is_told(self, firm, asked):
        with pytest.raises(CommandError, match="No firm is called"):
            self.run(asked)

    def test_two_of_one_name_are_told_apart_by_their_ids(self, firm, other):
        Organisation.objects.filter(pk=other.organisation.pk).update(name=firm.organisation.name)

        with pytest.raises(CommandError, match=str(other.organisation.pk)):
            self.run(firm.organisation.name)

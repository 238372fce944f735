"""Sheets sent, matched, looked through, stored and thrown away: in which order, by whom, and what is refused."""

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile

from accounts.calc.roles import Role
from accounts.models import Membership, Notice, Owner
from core.errors import ClaimLostError, NotAllowedNowError
from core.services import jobs
from core.services.jobs import Outcome
from exchange.calc.kinds import SheetKind
from exchange.calc.payloads import Matching, SheetMatch
from exchange.calc.reading import read_file
from exchange.models import ColumnTemplate, DataImport
from exchange.services import imports
from tests.refusals import refused

LABEL = "exchange.DataImport"
OWNERS = "Name,Phone\nHarbour Homes,123\n"
MATCHED = Matching((SheetMatch("owners", ("name", "phone")),))


@pytest.fixture(autouse=True)
def _read_here(monkeypatch):
    """Files are read in this process: a program of its own for each takes longer than the tests."""
    monkeypatch.setattr("exchange.services.files.read_apart", read_file)


def begun(firm, text=OWNERS, by="coordinator", **changes):
    row = DataImport(organisation=firm.organisation, made_by=getattr(firm, by), **changes)
    sent = [SimpleUploadedFile("owners.csv", text.encode())]
    return imports.begin_import(data_import=row, sent=sent)


def looked_through(firm, **changes):
    row = begun(firm, **changes)
    imports.match_columns(data_import=row, matching=MATCHED)
    assert run(row) is Outcome.DONE
    return row


def run(row):
    outcome = jobs.run(LABEL, row.pk)
    row.refresh_from_db()
    return outcome


def stored_names(firm):
    names = Owner.objects.filter(organisation=firm.organisation).values_list("name", flat=True)
    return set(names) - {firm.owner.name}


def test_what_was_sent_waits_for_a_person_and_for_nobody_else(firm):
    row = begun(firm)

    assert (row.step, row.state, row.is_unfinished, row.is_matched) == ("matching", "done", False, False)
    assert run(row) is Outcome.FRESH
    assert row.names == "owners.csv"
    assert [(head.name, head.headers, head.rows) for head in row.heads.sheets] == [
        ("owners", ("Name", "Phone"), 1)
    ]
    assert row.matching == MATCHED


def test_sent_twice_it_is_one(firm):
    first = begun(firm, device_id=firm.site.pk)

    assert begun(firm, text="Name\nSomebody else\n", device_id=firm.site.pk) == first
    assert DataImport.objects.count() == 1


def test_looked_through_nothing_is_stored_and_what_would_be_is_counted(firm):
    row = looked_through(firm)

    assert (row.step, row.report.problem_count, row.report.new, row.is_ready) == ("checking", 0, 1, True)
    assert stored_names(firm) == set()


def test_stored_it_is_there_and_its_file_gone(firm, django_capture_on_commit_callbacks):
    row = looked_through(firm)
    storage, name = row.content.storage, row.content.name
    imports.ask_to_store(data_import=row)

    with django_capture_on_commit_callbacks(execute=True):
        assert run(row) is Outcome.DONE

    assert (row.step, row.content.name, row.is_stored, row.is_ready) == ("stored", "", True, False)
    assert stored_names(firm) == {"Harbour Homes"}
    assert not storage.exists(name)
    assert Notice.objects.get(about_id=row.pk).user == row.made_by


def test_what_got_a_problem_between_looking_and_storing_is_stored_not_at_all(firm, monkeypatch):
    """Somebody changed the firm meanwhile: all of it or nothing."""
    row = looked_through(firm)
    imports.ask_to_store(data_import=row)

    def breaks(*, owner):
        raise ValidationError({"name": "It is taken now. Choose another."})

    monkeypatch.setattr("accounts.services.people.save_owner", breaks)

    assert run(row) is Outcome.DONE
    assert (row.step, row.is_ready, row.is_stored) == ("checking", False, False)
    assert [(problem.column, problem.what) for problem in row.report.problems] == [
        ("Name", "It is taken now")
    ]
    assert stored_names(firm) == set()
    assert row.content


def test_whoever_lost_the_hold_while_storing_stores_nothing(firm, monkeypatch):
    row = looked_through(firm)
    imports.ask_to_store(data_import=row)
    claim = jobs.take(DataImport.objects.get(pk=row.pk))

    def lost(**_):
        raise ClaimLostError("It is held by somebody else.")

    monkeypatch.setattr(claim, "finish", lost)

    with pytest.raises(ClaimLostError):
        imports.work_through(DataImport.objects.get(pk=row.pk), claim)
    assert stored_names(firm) == set()


# ---- in which order -----------------------------------------------------------------------------------------


def test_with_every_sheet_left_out_there_is_nothing_to_do(firm):
    row = begun(firm)

    with refused(ValidationError, "Every sheet is left out"):
        imports.match_columns(data_import=row, matching=Matching((SheetMatch("", ("", "")),)))
    assert not ColumnTemplate.objects.exists()


def test_it_is_not_stored_before_it_was_looked_through(firm):
    row = begun(firm)

    with refused(NotAllowedNowError, "cannot be stored as it stands"):
        imports.ask_to_store(data_import=row)


@pytest.mark.parametrize("text", ["Name,Phone\n,123\n", "Name,Phone\n\n"], ids=["a problem", "no row"])
def test_with_a_problem_or_without_a_new_row_it_is_not_stored(firm, text):
    row = looked_through(firm, text=text)

    with refused(NotAllowedNowError, "mend what is listed"):
        imports.ask_to_store(data_import=row)


@pytest.mark.parametrize("state", ["waiting", "running"])
@pytest.mark.parametrize(
    "step",
    [
        lambda row: imports.match_columns(data_import=row, matching=MATCHED),
        lambda row: imports.ask_to_store(data_import=row),
        lambda row: imports.discard_import(data_import=row),
    ],
    ids=["match", "store", "discard"],
)
def test_while_it_is_worked_on_nobody_does_anything_else_to_it(firm, state, step):
    row = looked_through(firm)
    DataImport.objects.filter(pk=row.pk).update(state=state)

    with refused(NotAllowedNowError, "is being worked on"):
        step(row)


def test_once_it_is_stored_it_is_stored_for_good(firm):
    row = looked_through(firm)
    imports.ask_to_store(data_import=row)
    run(row)

    for step in (
        lambda: imports.ask_to_store(data_import=row),
        lambda: imports.match_columns(data_import=row, matching=MATCHED),
    ):
        with refused(NotAllowedNowError, "The sheets of this import are gone"):
            step()


def test_of_two_who_store_at_once_the_second_is_told(firm):
    """Each read the row before the other asked."""
    row = looked_through(firm)
    late = DataImport.objects.get(pk=row.pk)
    imports.ask_to_store(data_import=row)

    with refused(NotAllowedNowError, "is being worked on"):
        imports.ask_to_store(data_import=late)


def test_matched_anew_it_is_looked_through_anew(firm):
    row = looked_through(firm)

    imports.match_columns(data_import=row, matching=Matching((SheetMatch("owners", ("phone", "name")),)))

    assert run(row) is Outcome.DONE
    assert row.report.new == 1
    assert ColumnTemplate.objects.get().columns.columns == {"name": "phone", "phone": "name"}


def test_what_was_learnt_of_other_columns_stays(firm):
    looked_through(firm)
    row = begun(firm, text="Who,Tel\nMill Trust,1\n")
    imports.match_columns(data_import=row, matching=MATCHED)

    assert ColumnTemplate.objects.get().columns.columns == {
        "name": "name", "phone": "phone", "who": "name", "tel": "phone",
    }  # fmt: skip


def test_what_one_firm_learnt_is_not_for_another(firm):
    looked_through(firm)
    ColumnTemplate.objects.update(columns_json={"schema": 1, "columns": {"name": "note", "phone": ""}})
    theirs = DataImport(organisation=firm.outsider.memberships.get().organisation, made_by=firm.outsider)

    row = imports.begin_import(data_import=theirs, sent=[SimpleUploadedFile("owners.csv", OWNERS.encode())])

    assert row.matching == MATCHED
    assert begun(firm).matching.sheets[0].columns == ("note", "")


# ---- who ----------------------------------------------------------------------------------------------------


def test_who_left_the_firm_since_has_nothing_stored(firm):
    row = looked_through(firm)
    imports.ask_to_store(data_import=row)
    Membership.objects.filter(user=firm.coordinator).delete()

    assert run(row) is Outcome.FAILED
    assert row.error == f"{firm.coordinator} records nothing for this firm any more."
    assert stored_names(firm) == set()


@pytest.mark.parametrize(
    ("role", "outcome"), [(Role.VIEWER, Outcome.FAILED), (Role.TECHNICIAN, Outcome.DONE)]
)
def test_the_role_of_now_counts_and_not_that_of_the_sending(firm, role, outcome):
    row = looked_through(firm)
    imports.ask_to_store(data_import=row)
    Membership.objects.filter(user=firm.coordinator).update(role=role)

    assert run(row) is outcome
    assert stored_names(firm) == set()
    if outcome is Outcome.DONE:
        assert [problem.what for problem in row.report.problems] == ["Your role does not record this"]


def test_sheets_that_are_gone_from_the_disk_are_told(firm):
    row = begun(firm)
    imports.match_columns(data_import=row, matching=MATCHED)
    row.content.storage.delete(row.content.name)

    assert run(row) is Outcome.FAILED
    assert row.error == "The sheets of this import are gone. Send them again."


# ---- away ---------------------------------------------------------------------------------------------------


def test_thrown_away_its_file_goes_and_what_was_learnt_stays(firm, django_capture_on_commit_callbacks):
    row = looked_through(firm)
    storage, name = row.content.storage, row.content.name

    with django_capture_on_commit_callbacks(execute=True):
        imports.discard_import(data_import=row)

    assert not storage.exists(name)
    assert not DataImport.objects.exists()
    assert ColumnTemplate.objects.exists()


def test_thrown_away_after_it_was_stored_what_it_made_stays(firm, django_capture_on_commit_callbacks):
    row = looked_through(firm)
    imports.ask_to_store(data_import=row)
    with django_capture_on_commit_callbacks(execute=True):
        run(row)

    with django_capture_on_commit_callbacks(execute=True) as called:
        imports.discard_import(data_import=row)

    assert called == []  # its file went when it was stored
    assert stored_names(firm) == {"Harbour Homes"}


# ---- what it may need, without a row in the database -----------------------------------------------------------


def of_sheets(*kinds):
    row = DataImport()
    row.matching = Matching(tuple(SheetMatch(kind, ()) for kind in kinds))
    return row


@pytest.mark.parametrize(
    ("kinds", "role"),
    [
        ((), Role.TECHNICIAN),
        (("",), Role.TECHNICIAN),
        (("tests", "rounds", "cleanings"), Role.TECHNICIAN),
        (("tests", "owners"), Role.COORDINATOR),
        (("", "surfaces"), Role.COORDINATOR),
    ],
)
def test_who_has_it_stored_needs_the_role_of_all_its_rows(kinds, role):
    assert of_sheets(*kinds).least_role == role


def test_an_import_that_was_not_matched_needs_the_least():
    assert DataImport().least_role == Role.TECHNICIAN


@pytest.mark.parametrize("kind", SheetKind)
def test_records_take_a_technician_and_the_register_a_coordinator(kind):
    recorded = kind in (SheetKind.ROUNDS, SheetKind.TESTS, SheetKind.CLEANINGS)

    assert of_sheets(kind.value).least_role == (Role.TECHNICIAN if recorded else Role.COORDINATOR)

"""Files are seen by whoever sees the row they hang on; those set aside by the firm alone."""

import pytest

from accounts.calc.roles import Role
from maintenance.models import CleaningAttachment
from qa.models import Attachment
from tests.factories import (
    AttachmentFactory,
    CleaningAttachmentFactory,
    CleaningFactory,
    OwnerPersonFactory,
    RoundFactory,
    SurfaceFactory,
)

pytestmark = pytest.mark.django_db
PEOPLE = ("viewer", "technician", "coordinator", "admin")


@pytest.fixture
def files(firm):
    """One file on a surface, a round and a cleaning of the firm, and one of another firm each."""
    other = SurfaceFactory()
    made = {}
    for name, surface in (("mine", firm.surface), ("theirs", other)):
        made[name] = [
            AttachmentFactory(surface=surface),
            AttachmentFactory(round=RoundFactory(surface=surface)),
            CleaningAttachmentFactory(cleaning=CleaningFactory(surface=surface)),
        ]
    return made


def seen_by(person, role=Role.OWNER):
    return {
        file.pk for model in (Attachment, CleaningAttachment) for file in model.objects.for_user(person, role)
    }


def keys(files):
    return {file.pk for file in files}


def set_aside(files):
    for file in files:
        type(file).objects.filter(pk=file.pk).update(state="void")


@pytest.mark.parametrize("who", [*PEOPLE, "owner_person"])
def test_who_sees_the_row_sees_its_files_and_those_of_no_other_firm(firm, files, who):
    assert seen_by(getattr(firm, who)) == keys(files["mine"])


def test_who_sees_no_row_sees_no_file(firm, files):
    assert seen_by(firm.outsider) == set()


@pytest.mark.parametrize(("who", "seen"), [*((who, True) for who in PEOPLE), ("owner_person", False)])
def test_what_was_set_aside_is_kept_from_the_owners_people(firm, files, who, seen):
    set_aside(files["mine"])

    assert seen_by(getattr(firm, who)) == (keys(files["mine"]) if seen else set())


def test_who_works_for_the_firm_and_reads_for_the_owner_sees_what_was_set_aside(firm, files):
    OwnerPersonFactory(owner=firm.owner, user=firm.viewer)
    set_aside(files["mine"])

    assert seen_by(firm.viewer) == keys(files["mine"])


def test_who_works_for_one_firm_and_reads_an_owner_of_another_sees_no_file_set_aside_there(firm, files):
    theirs = files["theirs"][0].surface.site.owner
    OwnerPersonFactory(owner=theirs, user=firm.admin)
    set_aside(files["theirs"][:1])

    assert seen_by(firm.admin) == keys([*files["mine"], *files["theirs"][1:]])


@pytest.mark.parametrize("role", [Role.TECHNICIAN, Role.COORDINATOR, Role.ADMIN])
def test_a_higher_role_than_one_has_reaches_no_file(firm, files, role):
    assert seen_by(firm.viewer, role) == set()
    assert seen_by(firm.owner_person, role) == set()
    assert seen_by(firm.admin, role) == keys(files["mine"])


def test_files_of_a_firm_are_those_on_its_rows(firm, files):
    mine = {
        file.pk
        for model in (Attachment, CleaningAttachment)
        for file in model.objects.of_organisation(firm.organisation)
    }

    assert mine == keys(files["mine"])


def test_pages_and_reports_show_those_that_were_not_set_aside(firm, files):
    set_aside(files["mine"][:1])

    assert set(Attachment.objects.active()) == {files["mine"][1], *files["theirs"][:2]}

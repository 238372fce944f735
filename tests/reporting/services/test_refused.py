"""What verifying sources and keeping documents refuse, and that nothing is stored then."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import localdate

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from core.errors import AlreadyDoneError
from reporting.models import Snapshot, VerifiedSource
from reporting.selectors.sources import source_row, source_rows, verified_sources
from reporting.services import kept
from reporting.services.sources import verify_source, withdraw_verification
from tests.clock import TODAY
from tests.factories import OrganisationFactory, SiteFactory, VerifiedSourceFactory
from tests.refusals import FAR_AHEAD, refused

CITATION = "15A NCAC 02H .1055"


def row_of(organisation, **fields):
    values = {
        "citation": CITATION,
        "edition": "edition 2021",
        "verified_by": "Vera Verifier",
        "verified_on": localdate(),
    }
    return VerifiedSource(organisation=organisation, **values | fields)


def verify(firm, **fields):
    return verify_source(verified=row_of(firm.organisation, **fields), by=firm.coordinator)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("edition", ""),
        ("edition", "e" * 81),
        ("verified_by", ""),
        ("verified_by", "v" * 81),
        ("citation", "c" * 241),
    ],
)
@pytest.mark.parametrize("anew", [False, True], ids=["for the first time", "anew"])
def test_what_is_left_out_or_too_long_is_refused_and_what_stood_before_stands(firm, field, value, anew):
    if anew:
        verify(firm)

    with refused(ValidationError, beside=field):
        verify(firm, **{field: value})


@pytest.mark.parametrize("anew", [False, True], ids=["for the first time", "anew"])
def test_a_day_to_come_is_told_with_what_to_enter(firm, anew):
    if anew:
        verify(firm)
    day = localdate() + timedelta(days=1)

    with refused(ValidationError, day, "held against the document", beside="verified_on"):
        verify(firm, verified_on=day)


def test_today_is_no_day_to_come(firm):
    assert verify(firm, verified_on=localdate()).verified_on == localdate()


def test_sent_twice_it_is_verified_once(firm):
    key = uuid4()

    first, second = verify(firm, device_id=key), verify(firm, device_id=key, edition="edition 2023")

    assert first == second
    assert VerifiedSource.objects.get().edition == "edition 2021"


def test_another_firms_sending_of_the_same_id_finds_nothing_here(firm):
    key = uuid4()
    theirs = VerifiedSourceFactory(device_id=key)

    with refused(ValidationError):
        verify(firm, device_id=key)

    assert VerifiedSource.objects.get() == theirs


@pytest.mark.parametrize("reason", ["", "  ", "\n"])
def test_taking_back_asks_why(firm, reason):
    row = verify(firm)

    with refused(ValidationError, "Say why", beside="reason"):
        withdraw_verification(verified=row, by=firm.coordinator, reason=reason)


def test_what_was_verified_anew_meanwhile_is_not_taken_back(firm):
    old = verify(firm)
    verify(firm, edition="edition 2023")

    with refused(AlreadyDoneError, "already replaced by a correction"):
        withdraw_verification(verified=old, by=firm.coordinator, reason="Wrong.")

    assert verified_sources(firm.organisation, Audience.FIRM)[CITATION].edition == "edition 2023"


def test_what_was_taken_back_is_verified_afresh_and_replaces_nothing(firm):
    old = verify(firm)
    withdraw_verification(verified=old, by=firm.admin, reason=" Wrong edition. ")

    new = verify(firm, edition="edition 2023")

    old.refresh_from_db()
    assert (old.state, old.state_reason, old.state_by) == ("void", "Wrong edition.", firm.admin)
    assert (new.replaces, new.recorded_by) == (None, firm.coordinator)


def test_verifying_one_source_leaves_the_others_and_other_firms_alone(firm):
    other = VerifiedSourceFactory(organisation=firm.organisation, citation="Another code")
    theirs = VerifiedSourceFactory(citation=CITATION)

    verify(firm)
    verify(firm, edition="edition 2023")

    assert {row.state for row in VerifiedSource.objects.filter(pk__in=[other.pk, theirs.pk])} == {"active"}
    assert set(verified_sources(firm.organisation, Audience.FIRM)) == {CITATION, "Another code"}


@pytest.mark.parametrize(
    ("who", "role", "found"),
    [
        ("viewer", Role.VIEWER, True),
        ("viewer", Role.COORDINATOR, False),
        ("technician", Role.COORDINATOR, False),
        ("coordinator", Role.COORDINATOR, True),
        ("owner_person", Role.OWNER, False),
        ("outsider", Role.VIEWER, False),
    ],
)
def test_rows_are_found_by_the_firms_people_in_their_role_alone(firm, who, role, found):
    verify(firm)

    assert VerifiedSource.objects.for_user(getattr(firm, who), role).exists() is found


def test_the_list_marks_what_this_firm_verified_alone(firm):
    VerifiedSourceFactory(citation=CITATION)
    before = {row.listed.source.citation for row in source_rows(firm.organisation) if row.verified}

    row = verify(firm)

    (marked,) = [one for one in source_rows(firm.organisation) if one.verified]
    assert before == set()
    assert marked.verified == row
    assert source_row(firm.organisation, marked.listed.key) == marked


def test_a_firm_that_verified_nothing_has_the_same_sources_on_its_list(firm):
    verify(firm)

    ours, theirs = (
        [row.listed for row in source_rows(organisation)]
        for organisation in (firm.organisation, OrganisationFactory())
    )

    assert ours == theirs


# ---- Documents -----------------------------------------------------------------------------------


@pytest.mark.parametrize("audience", list(Audience))
def test_a_report_that_begins_in_the_future_is_kept_for_nobody(firm, audience):
    with refused(ValidationError, FAR_AHEAD, "Give the first day", beside="since"):
        kept.freeze_report(site=firm.site, audience=audience, since=FAR_AHEAD, by=firm.coordinator)


@pytest.mark.parametrize("since", [date(1, 1, 1), date(1899, 12, 31)])
def test_a_report_that_begins_before_all_records_is_refused_with_the_earliest_day(firm, since):
    with refused(ValidationError, since, date(1900, 1, 1), beside="since"):
        kept.freeze_report(site=firm.site, audience=Audience.OWNER, since=since, by=firm.coordinator)


def test_a_report_of_today_alone_is_kept(firm):
    row = kept.freeze_report(site=firm.site, audience=Audience.OWNER, since=TODAY, by=firm.coordinator)

    assert (row.since, row.until) == (TODAY, TODAY)


@pytest.mark.parametrize("reason", ["", "   "])
def test_a_document_is_withdrawn_with_a_reason_and_once(firm, reason):
    row = kept.freeze_handover(surface=firm.surface, audience=Audience.OWNER, by=firm.coordinator)
    second = Snapshot.objects.get(pk=row.pk)

    with refused(ValidationError, "Say why", beside="reason"):
        kept.withdraw(document=row, by=firm.coordinator, reason=reason)
    kept.withdraw(document=row, by=firm.coordinator, reason="Wrong surface.")
    with refused(AlreadyDoneError, "already set aside"):
        kept.withdraw(document=second, by=firm.admin, reason="Mine too.")


def test_the_id_of_a_sending_at_another_site_gives_no_document_of_that_site(firm):
    key = uuid4()
    elsewhere = SiteFactory(owner=firm.owner)
    first = kept.freeze_report(
        site=elsewhere, audience=Audience.FIRM, since=TODAY, by=firm.coordinator, device_id=key
    )

    with refused(ValidationError):
        kept.freeze_report(
            site=firm.site, audience=Audience.FIRM, since=TODAY, by=firm.coordinator, device_id=key
        )

    assert Snapshot.objects.get() == first

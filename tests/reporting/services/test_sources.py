"""Marking a source as verified, and taking that back."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import localdate

from accounts.calc.audience import Audience
from core.errors import AlreadyDoneError
from reporting.models import VerifiedSource
from reporting.selectors.sources import source_rows, verified_sources
from reporting.services.sources import verify_source, withdraw_verification
from tests.factories import ConstructionCheckFactory, ConstructionRecordFactory, VerifiedSourceFactory

CITATION = "15A NCAC 02H .1055"


def verify(firm, edition="edition 2021", on=None):
    row = VerifiedSource(
        organisation=firm.organisation,
        citation=CITATION,
        edition=edition,
        verified_by="Vera Verifier",
        verified_on=on or localdate(),
    )
    return verify_source(verified=row, by=firm.coordinator)


def test_documents_go_by_what_was_verified_last(firm):
    first = verify(firm)
    verify(firm, "edition 2023")

    first.refresh_from_db()
    assert verified_sources(firm.organisation, Audience.OWNER)[CITATION].edition == "edition 2023"
    assert (first.state, first.replaced_by.recorded_by) == ("replaced", firm.coordinator)


def test_a_day_to_come_is_refused_beside_its_field(firm):
    with pytest.raises(ValidationError) as refused:
        verify(firm, on=localdate() + timedelta(days=2))

    assert "is in the future" in refused.value.message_dict["verified_on"][0]
    assert not VerifiedSource.objects.exists()


def test_a_source_without_its_name_is_refused(firm):
    row = VerifiedSource(
        organisation=firm.organisation, edition="2023", verified_by="V", verified_on=localdate()
    )

    with pytest.raises(ValidationError, match="nothing says which one is meant"):
        verify_source(verified=row, by=firm.coordinator)

    assert not VerifiedSource.objects.exists()


def test_what_is_taken_back_counts_no_more_and_stays_readable(firm):
    row = verify(firm)

    withdraw_verification(verified=row, by=firm.coordinator, reason="Wrong edition.")

    assert verified_sources(firm.organisation, Audience.FIRM) == {}
    assert VerifiedSource.objects.get().state_reason == "Wrong edition."
    with pytest.raises(AlreadyDoneError):
        withdraw_verification(verified=row, by=firm.coordinator, reason="Again.")


def test_another_firm_has_verified_nothing_for_this_one(firm):
    VerifiedSourceFactory(citation=CITATION)

    assert verified_sources(firm.organisation, Audience.FIRM) == {}


def test_whoever_may_not_read_names_is_told_of_the_firm(firm):
    verify(firm)

    told = {audience: verified_sources(firm.organisation, audience)[CITATION].by for audience in Audience}

    assert told == {
        Audience.FIRM: "Vera Verifier",
        Audience.OWNER: "Vera Verifier",
        Audience.LINK: "the firm",
    }


def test_a_source_that_only_an_open_record_still_names_is_on_the_list(firm):
    record = ConstructionRecordFactory(surface=firm.surface)
    older = {"source": "Code of an earlier edition, 4.2", "source_status": "from_memory"}
    ConstructionCheckFactory(record=record, **older)
    ConstructionCheckFactory(record=record, **older)

    rows = [
        row.listed
        for row in source_rows(firm.organisation)
        if row.listed.source.citation.startswith("Code of")
    ]

    assert [row.uses for row in rows] == [("Check of an open record",)]

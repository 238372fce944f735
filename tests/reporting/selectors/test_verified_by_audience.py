"""How a surface and its handover record name the document of the limit, verified or not, to each reader."""

import pytest

from accounts.calc.audience import Audience
from core.calc.format import day
from qa.calc.citing import MARK
from qa.calc.limits import PRESETS
from reporting.calc.unverified import unverified_in
from reporting.presentation.sources import unverified_words
from reporting.selectors.handovers import handover_snapshot
from reporting.selectors.surfaces import surface_snapshot
from reporting.services.sources import withdraw_verification
from tests.factories import VerifiedSourceFactory

DOCUMENTS = {"surface": surface_snapshot, "handover": handover_snapshot}
every_document = pytest.mark.parametrize("make", DOCUMENTS.values(), ids=DOCUMENTS.keys())
every_reader = pytest.mark.parametrize("audience", list(Audience))


@pytest.fixture
def surface(firm):
    """With the limit that a document of the state sets."""
    firm.surface.limit_preset = "ontario"
    firm.surface.save()
    return firm.surface


@pytest.fixture
def citation():
    return PRESETS["ontario"].source.citation


def verify(surface, citation, **fields):
    return VerifiedSourceFactory(
        organisation=surface.organisation, citation=citation, edition="revision of May 2024", **fields
    )


@every_document
@every_reader
def test_a_document_that_was_not_checked_carries_the_mark_for_every_reader(surface, citation, make, audience):
    limit = make(surface, audience).limit

    assert limit.unverified == citation
    assert limit.citation == f"{citation} {MARK}"


@every_document
@pytest.mark.parametrize(
    ("audience", "name"),
    [(Audience.FIRM, "Vera Verifier"), (Audience.OWNER, "Vera Verifier"), (Audience.LINK, "the firm")],
)
def test_a_document_that_was_checked_names_its_edition_and_who_may_be_named(
    surface, citation, make, audience, name
):
    row = verify(surface, citation)

    limit = make(surface, audience).limit

    assert limit.unverified == ""
    said = f"{citation}, revision of May 2024, verified by {name} on {day(row.verified_on)}"
    assert limit.citation == said


@every_document
@every_reader
def test_what_another_firm_verified_takes_no_mark_away(surface, citation, make, audience):
    VerifiedSourceFactory(citation=citation)

    assert make(surface, audience).limit.unverified == citation


@every_document
@every_reader
def test_what_was_taken_back_carries_the_mark_again(surface, citation, make, audience, firm):
    row = verify(surface, citation)
    withdraw_verification(verified=row, by=firm.coordinator, reason="Wrong edition.")

    assert make(surface, audience).limit.unverified == citation


@every_document
@every_reader
def test_verifying_the_one_document_takes_its_own_criteria_off_the_list_alone(
    surface, citation, make, audience
):
    before = {one.document: one.criteria for one in unverified_in(make(surface, audience))}
    verify(surface, citation)

    after = {one.document: one.criteria for one in unverified_in(make(surface, audience))}

    assert citation in before
    assert after == {document: count for document, count in before.items() if document != citation}


@every_reader
def test_the_line_at_the_top_counts_what_the_list_at_the_end_names(surface, audience):
    words = unverified_words(handover_snapshot(surface, audience))

    counts = [int(line.rsplit(": ", 1)[1].split()[0]) for line in words["unverified"]]
    assert words["unverified_line"].startswith(f"{sum(counts)} criteria in this document rest on")


@every_document
@every_reader
def test_a_limit_that_was_agreed_has_nothing_to_verify(firm, make, audience):
    snapshot = make(firm.surface, audience)

    assert snapshot.limit.unverified == ""
    assert MARK not in snapshot.limit.citation


@every_reader
def test_the_same_document_is_named_alike_on_the_surface_and_in_its_handover(surface, citation, audience):
    verify(surface, citation)

    assert surface_snapshot(surface, audience).limit == handover_snapshot(surface, audience).limit

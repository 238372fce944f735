"""How a source is said in a client's document."""

from datetime import date

import pytest

from qa.calc.citing import Cited, Verified, cited, named, source_key
from qa.calc.sources import Source, SourceStatus

DOCUMENT = "ASTM C1781/C1781M"
VERIFIED = {DOCUMENT: Verified("edition 2021", "Vera Verifier", date(2026, 3, 4))}


@pytest.mark.parametrize("status", [SourceStatus.LOOKED_UP, SourceStatus.FROM_MEMORY])
def test_a_named_document_stands_alone_with_a_mark_until_it_is_verified(status):
    assert cited(Source(DOCUMENT, status), {}) == Cited(f"{DOCUMENT} †", DOCUMENT)


@pytest.mark.parametrize("status", [SourceStatus.LOOKED_UP, SourceStatus.FROM_MEMORY])
def test_a_verified_document_is_named_with_its_edition_by_whom_and_when(status):
    said = cited(Source(DOCUMENT, status), VERIFIED)

    assert said == Cited("ASTM C1781/C1781M, edition 2021, verified by Vera Verifier on 4\u00a0Mar\u00a02026")


def test_another_document_does_not_pass_as_verified():
    assert (
        cited(Source("ASTM C1701/C1701M", SourceStatus.LOOKED_UP), VERIFIED).unverified == "ASTM C1701/C1701M"
    )


@pytest.mark.parametrize("status", [SourceStatus.TRADE_GUIDANCE, SourceStatus.COMMON_PRACTICE])
def test_where_no_document_is_named_it_is_common_practice(status):
    assert cited(Source("An article of the trade", status), {}) == Cited("Common practice")


def test_a_tolerance_of_this_tool_is_no_common_practice():
    assert cited(Source("Judgement of this tool", SourceStatus.OWN_DEFAULT), {}).text.startswith(
        "Working tolerance"
    )


@pytest.mark.parametrize("status", [SourceStatus.ENTERED, SourceStatus.DERIVED])
def test_what_the_firm_entered_or_a_formula_gives_is_said_as_it_is(status):
    assert cited(Source("Contract 7, clause 3", status), {}) == Cited("Contract 7, clause 3")


def test_a_page_names_the_document_without_a_mark_that_nothing_explains():
    assert named(Source(DOCUMENT, SourceStatus.FROM_MEMORY)) == DOCUMENT


def test_every_status_is_said_somehow():
    assert all(cited(Source("X", status), {}).text for status in SourceStatus)


def test_a_source_keeps_its_address():
    assert str(source_key("15A NCAC 02H .1055")) == "0187672c-b34c-5259-8b78-7910ccb889ff"

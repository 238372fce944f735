"""Counting and listing what a document rests on that its firm has not checked."""

from reporting.calc.handover import CarePart
from reporting.calc.parts import AskedRate
from reporting.calc.unverified import unverified_in, unverified_line

A, B = CarePart("Sweep.", "Guide A †", "Guide A"), CarePart("Rake.", "Guide B †", "Guide B")
CHECKED = CarePart("Look.", "Guide C, edition 2, verified by V on 1 Jan 2026")


def test_each_criterion_counts_and_each_document_is_listed_once():
    found = unverified_in((A, CHECKED, (B, A)))

    assert [one.words for one in found] == ["Guide A: 2 criteria", "Guide B: 1 criterion"]
    assert unverified_line(found) == (
        "3 criteria in this document rest on documents not checked against the current edition by the firm (†)."
    )


def test_one_criterion_is_told_in_the_singular():
    assert unverified_line(unverified_in((B,))).startswith(
        "1 criterion in this document rests on a document not"
    )


def test_a_rate_that_is_asked_is_a_criterion():
    assert [one.document for one in unverified_in(AskedRate(250.0, "D †", unverified="D"))] == ["D"]


def test_a_document_that_rests_on_nothing_unchecked_says_nothing():
    assert unverified_line(unverified_in((CHECKED,))) == ""

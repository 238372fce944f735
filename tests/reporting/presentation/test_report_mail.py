"""The mail by which a document is sent: one line of subject, the address alone on its line, in the order of use."""

from dataclasses import replace
from datetime import date

import pytest

from reporting.presentation.report_mail import Letter

PLAIN = Letter(
    title="Report of Quay, June 2026",
    firm="Dry Feet Ltd",
    message="",
    address="https://office.example/shared/abc/",
    ends_on=date(2026, 9, 8),
    attached=False,
)


def parts(letter):
    return letter.text.rstrip("\n").split("\n\n")


def test_the_mail_says_who_sends_what_until_when_and_to_whom_it_may_be_passed_on():
    assert parts(PLAIN) == [
        "Dry Feet Ltd sends you: Report of Quay, June 2026.",
        "Open it here, until 8 Sep 2026:\nhttps://office.example/shared/abc/",
        "Whoever has this link can read the document. Pass it on only to people who may.",
    ]


def test_the_address_stands_alone_on_its_line_so_that_nothing_is_taken_into_it():
    assert PLAIN.address in PLAIN.text.splitlines()


def test_what_the_person_wrote_comes_before_the_address_and_keeps_its_lines():
    found = parts(replace(PLAIN, message="  Dear all,\nplease read page 2.\n\n"))

    assert found[1] == "Dear all,\nplease read page 2."
    assert found[2].startswith("Open it here")


@pytest.mark.parametrize(
    ("attached", "left_out", "said"),
    [
        (True, "", "It is attached as a PDF as well."),
        (True, "It is too large.", "It is attached as a PDF as well."),
        (False, "It is too large to be attached.", "It is too large to be attached."),
    ],
)
def test_whether_the_pdf_is_with_it_is_said_and_why_not(attached, left_out, said):
    found = parts(replace(PLAIN, attached=attached, left_out=left_out))

    assert found[2] == said
    assert len(found) == 4


def test_an_invented_firm_says_last_that_it_is_invented():
    assert parts(replace(PLAIN, demo_notice="All of this is invented."))[-1] == "All of this is invented."


@pytest.mark.parametrize("title", ["Report\nBcc: x@y.example", "Report\r\n\tof  Quay", "Report\u2028of Quay"])
def test_a_subject_stays_on_one_line_whatever_the_site_is_called(title):
    letter = replace(PLAIN, title=title)

    assert len(letter.subject.splitlines()) == 1
    assert letter.subject.endswith(", from Dry Feet Ltd")
    assert len(parts(letter)[0].splitlines()) == 1


def test_days_in_a_mail_have_no_signs_that_old_readers_show_as_rubbish():
    assert "\xa0" not in PLAIN.text

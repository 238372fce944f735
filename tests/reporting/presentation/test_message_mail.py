"""The mail that tells of a message: who writes, about what, the words as they were typed, and where to answer."""

import pytest

from reporting.presentation.message_mail import mail_text, subject_of


@pytest.mark.parametrize(("from_owner", "word"), [(True, "Question"), (False, "Answer")])
def test_the_subject_says_whether_it_is_a_question_or_an_answer(from_owner, word):
    assert subject_of("Yard, Quay", from_owner=from_owner) == f"{word} about Yard, Quay"


@pytest.mark.parametrize(
    "name", ["Yard\nBcc: x@y.example", "Yard\r\nTo: a", "Yard\u2029Quay", " Yard  Quay "]
)
def test_no_name_breaks_the_subject_into_lines(name):
    subject = subject_of(name, from_owner=True)

    assert len(subject.splitlines()) == 1
    assert subject == " ".join(subject.split())


def test_the_text_is_told_as_it_was_typed_with_the_address_on_a_line_of_its_own():
    told = mail_text(
        "Ida Berg for Town", "Yard, Quay", "First.\n\n<b>Second</b> & third", "https://x.example/1/"
    )

    assert told == (
        "Ida Berg for Town writes about Yard, Quay:\n\nFirst.\n\n<b>Second</b> & third\n\n"
        "Answer it here:\nhttps://x.example/1/\n"
    )

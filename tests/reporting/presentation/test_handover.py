"""The handover record on paper: always tagged, whatever was typed into it."""

import subprocess

import pytest

from qa.models import Attachment
from reporting.presentation import pdf as papers
from reporting.presentation.typesetting import UnsettableTextError
from tests.needs import need
from tests.reporting.papers import facts_of, paper_of, words_of
from tests.reporting.selectors.test_handovers import build


@pytest.fixture
def built(firm):
    return build(firm)


def renamed(surface, name):
    surface.name = name
    surface.save()
    return surface


def test_the_pdf_says_what_the_record_says(built, tmp_path, settings):
    settings.DEMO_NOTICE = "Invented demonstration data."

    words = words_of(paper_of(built), tmp_path)

    for said in (
        "Handover record",
        built.name,
        "Invented demonstration data.",
        "Marked by the service.",
        "checked again",
        "Accepted by the designer.",
        "Marks at the gate",
        "open-graded stone",
        "9170 mm/h",
        "Common practice",
        "not checked against the current edition by the firm",
        "Documents not checked by the firm",
        "This record holds no winter and spill plan.",
        "Not a design, certificate or warranty",
        "Vacuum two to four times a year",
        "Page 1 of",
    ):
        assert said in words, said


NAMES = {
    "plain": "Yard 7",
    "emoji": "Yard \U0001f9f1\U0001f469\u200d\U0001f469\u200d\U0001f467",
    "Chinese": "中学的院子",
    "Arabic": "ساحة المدرسة 7",
    "combining": "Cafe\u0301 x\u0331\u0323\u0301\u035c",
    "joiners": "A\u200d\ufe0f\u200dB\u200d",
    "control": "Yard\x07\ue000\ufffe",
    "directions": "Yard \u202e7\u202c",
    "mixed": "𝒙ڽǋჃ\u0602𝐊ჲۅŧƄڹĳ𝒯ے؟ب𝑅ƟڀუȖ\u0601𝒏ؘ\u10c9",
}


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_the_pdf_is_tagged_and_has_a_title_and_a_language_whatever_was_typed(built, tmp_path, name):
    pdf = paper_of(renamed(built, name))

    facts = facts_of(pdf, tmp_path)
    assert facts["Tagged"] == "yes"
    assert facts["Title"].startswith("Handover record of ")
    for said in (b"<pdfuaid:part>1<", b"/StructTreeRoot", b"/Lang(en)", b"/DisplayDocTitle true"):
        assert said in pdf, said


def test_signs_that_no_font_has_are_marked_and_named_at_the_end(built, tmp_path):
    words = words_of(paper_of(renamed(built, "Yard 🧱, 中学 🧱")), tmp_path)

    assert "Yard ▯, ▯▯ ▯" in words
    assert "Where this paper shows ▯:" in words
    assert "characters of this record that the fonts of this paper do not have: U+1F9F1 brick, " in words


def test_a_material_in_the_drawing_is_marked_too(built, tmp_path):
    built.layers.update(material="石 stone")

    assert "▯ stone" in words_of(paper_of(built), tmp_path)


def test_a_record_that_can_be_printed_in_full_has_no_note(built, tmp_path):
    assert "Where this paper shows" not in words_of(paper_of(built), tmp_path)


def test_only_so_many_signs_are_named(built, tmp_path):
    words = words_of(paper_of(renamed(built, "".join(chr(0x4E00 + i) for i in range(30)))), tmp_path)

    assert "and 10 more." in words


def test_a_paper_that_cannot_be_set_is_no_paper(built, monkeypatch):
    def refuse(*_, **__):
        raise UnsettableTextError("never")

    monkeypatch.setattr(papers, "typeset", refuse)

    with pytest.raises(UnsettableTextError):
        paper_of(built)


def test_no_font_of_the_machine_is_used(built, tmp_path):
    reader = need("pdffonts", "poppler-utils")
    path = tmp_path / "paper.pdf"
    path.write_bytes(paper_of(renamed(built, "Yard ساحة ✓ विद्यालय")))

    done = subprocess.run([reader, path], capture_output=True, text=True, check=True)

    listed = done.stdout.splitlines()[2:]  # below the heading of the table
    faces = {line.split("+")[1].split()[0].partition("-")[0] for line in listed}
    assert faces <= {"LibertinusSerif", "DejaVuSansMono", "NewCM10", "NewCMMath"}


def test_the_same_record_gives_the_same_paper_byte_for_byte(built):
    assert paper_of(built) == paper_of(built)


def test_without_demonstration_data_nothing_says_invented(built, tmp_path):
    assert "Invented" not in words_of(paper_of(built), tmp_path)


def test_text_in_the_record_cannot_become_code_of_the_paper(built, tmp_path):
    name = '#panic("x") *bold* $x$ `code` #read("/etc/passwd")'

    assert name in words_of(paper_of(renamed(built, name)), tmp_path)


def test_a_picture_missing_on_the_disk_is_left_out(built, tmp_path):
    for row in Attachment.objects.all():
        row.thumbnail.delete(save=False)
        Attachment.objects.filter(pk=row.pk).update(thumbnail="sent/xx/gone")

    assert "Marked by the service." in words_of(paper_of(built), tmp_path)


def test_a_surface_without_any_record_still_gets_its_paper(firm, tmp_path):
    words = words_of(paper_of(firm.surface), tmp_path)

    assert "No construction record was kept." in words
    assert "No acceptance test is recorded." in words


def test_a_reader_of_us_units_gets_inches_on_letter_paper(built, tmp_path):
    pdf = paper_of(built, units="us")

    assert "361 in/h" in words_of(pdf, tmp_path)
    assert b"/MediaBox[0 0 612 792]" in pdf

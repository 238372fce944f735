"""The handover record: content, page, and what stands in the PDF."""

import subprocess
from datetime import date

import pytest
from django.urls import reverse

from core.services.files import void_file
from core.services.uploads import Sent, accept
from qa.models import Attachment, CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork
from qa.services import assembly, construction
from reporting.presentation import pdf as paper
from reporting.presentation.handover import handover
from reporting.presentation.pdf import handover_pdf
from tests.core.services.test_uploads import photo, sent
from tests.factories import InfiltrationTestFactory, LayerFactory, RoundFactory
from tests.needs import need
from tests.pages import as_shown

DAY = date(2024, 3, 1)


@pytest.fixture
def built(firm):
    """A record with a failure put right and checked again, a waiver, a photo and an acceptance round."""
    LayerFactory(surface=firm.surface, kind="base", material="open-graded stone", thickness_mm=100.0)
    firm.surface.acceptance_rate_mm_h = 2540.0
    firm.surface.save()
    record = assembly.open_record(
        record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.technician
    )
    utilities = ConstructionCheck.objects.get(record=record, key="utilities_located")
    waived = ConstructionCheck.objects.get(record=record, key="base_thickness")
    failed = find(utilities, firm, answer=False, sent=Sent((accept(sent(photo())),), "Marks at the gate"))
    work = CorrectiveWork(entry=failed, done_on=DAY, what="Marked by the service.", done_by="Crew north")
    construction.record_work(work=work, by=firm.technician)
    find(utilities, firm, answer=True, rechecks=failed)
    construction.leave_out(
        entry=CheckEntry(
            construction_check=waived, outcome="waived", done_on=DAY, reason="Accepted by the designer."
        ),
        by=firm.coordinator,
    )
    round_ = RoundFactory(surface=firm.surface, purpose="acceptance", tested_on=DAY)
    for spot in ("A", "B", "C"):
        InfiltrationTestFactory(round=round_, spot=spot, prewet_time_s=20.0, test_mass=18.0, elapsed_s=100.0)
    return firm.surface


def find(check, firm, answer, sent=construction.NOTHING_SENT, **fields):
    entry = CheckEntry(construction_check=check, done_on=DAY, **fields)
    return construction.record_entry(entry=entry, answer=answer, by=firm.technician, sent=sent)


def words_of(pdf, tmp_path):
    """The text of a PDF, by poppler's pdftotext."""
    reader = need("pdftotext", "poppler-utils")
    path = tmp_path / "record.pdf"
    path.write_bytes(pdf)
    command = [reader, "-enc", "UTF-8", "-layout", path, "-"]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", check=True)
    return " ".join(done.stdout.split())


def pdf_of(surface, units="si"):
    return handover_pdf(handover(surface, units=units, for_paper=True))


def test_the_content_tells_the_failure_the_work_the_recheck_and_the_waiver(built):
    content = handover(built, units="si")

    checks = {c.asked: c for stage in content.stages for c in stage.checks}
    utilities = checks["Utilities are located and marked."]
    assert [(e.outcome, e.rechecked) for e in utilities.entries] == [("failed", False), ("passed", True)]
    assert [(w.what, w.by) for w in utilities.entries[0].works] == [("Marked by the service.", "Crew north")]
    assert [f.what for f in utilities.entries[0].files] == ["Marks at the gate"]
    assert (
        checks["Thickness of the layer, against the design."].entries[0].reason == "Accepted by the designer."
    )
    assert content.checks_in_short.endswith("1 is waived.")
    assert not content.complete


def test_the_content_holds_the_acceptance_test_with_its_readings(built):
    acceptance = handover(built, units="si").acceptance

    assert [r.verdict for r in acceptance.rounds] == ["Passes"]
    assert [t.spot for t in acceptance.rounds[0].tests] == ["A", "B", "C"]
    assert "18 kg in 100 s, ring 300 mm" in acceptance.rounds[0].tests[0].read


def test_the_pdf_is_tagged_and_says_what_the_content_says(built, tmp_path, settings):
    settings.DEMO_NOTICE = "Invented demonstration data."

    pdf = pdf_of(built)

    words = words_of(pdf, tmp_path)
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
        "Common practice, no source.",
        "Not a design, certificate or warranty",
        "Vacuum two to four times a year",
        "Page 1 of",
    ):
        assert said in words, said
    assert b"pdfuaid" in pdf
    assert b"/StructTreeRoot" in pdf


def test_without_demonstration_data_nothing_says_invented(built, tmp_path):
    assert "Invented" not in words_of(pdf_of(built), tmp_path)


def test_text_in_the_record_cannot_become_code_of_the_paper(built, tmp_path):
    built.name = '#panic("x") *bold* $x$ `code` #read("/etc/passwd")'
    built.save()

    words = words_of(pdf_of(built), tmp_path)

    assert '#panic("x") *bold* $x$ `code` #read("/etc/passwd")' in words


def test_a_sign_that_no_font_has_costs_the_tagging_promise_but_not_the_paper(built, tmp_path):
    built.name = "Yard \U0001f9f1 \ue000"
    built.save()

    assert "Yard" in words_of(pdf_of(built), tmp_path)


def test_a_picture_missing_on_the_disk_is_left_out(built, tmp_path, caplog):
    for row in Attachment.objects.all():
        row.thumbnail.delete(save=False)
        Attachment.objects.filter(pk=row.pk).update(thumbnail="sent/xx/gone")

    assert "Marked by the service." in words_of(pdf_of(built), tmp_path)
    assert "missing on the disk" in caplog.text


def test_a_picture_set_aside_is_not_printed(built):
    void_file(row=Attachment.objects.get(), by=built.organisation.memberships.first().user, reason="Face.")

    content = handover(built, units="si")

    assert paper.thumbnails({"stages": [], "files": content.files}) == {}
    assert not [e.files for s in content.stages for c in s.checks for e in c.entries if e.files]


def test_a_surface_without_any_record_still_gets_its_paper(firm, tmp_path):
    words = words_of(pdf_of(firm.surface), tmp_path)

    assert "No construction record was kept." in words
    assert "No acceptance test is recorded." in words


def test_a_reader_of_us_units_gets_inches_on_letter_paper(built, tmp_path):
    pdf = pdf_of(built, units="us")

    assert "361 in/h" in words_of(pdf, tmp_path)
    assert b"/MediaBox[0 0 612 792]" in pdf


def test_the_page_shows_the_same_content(client, firm, built):
    client.force_login(firm.owner_person)

    page = as_shown(client.get(reverse("reporting:handover-show", args=[built.pk])).content.decode())

    for said in ("Marked by the service.", "Accepted by the designer.", "9170 mm/h", "not complete"):
        assert said in page


def test_the_download_is_a_pdf_with_a_plain_name(client, firm, built):
    built.name = 'Yard "../x"\r\n'
    built.save()
    client.force_login(firm.viewer)

    response = client.get(reverse("reporting:handover-download", args=[built.pk]))

    assert response.headers["Content-Type"] == "application/pdf"
    assert response.headers["Content-Disposition"].endswith('-yard-x.pdf"')
    assert response.content.startswith(b"%PDF-")

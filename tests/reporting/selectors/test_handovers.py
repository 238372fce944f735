"""What the handover record of a surface holds."""

from datetime import date

import pytest

from accounts.calc.audience import Audience
from core.services.files import void_file
from core.services.uploads import NOTHING_SENT, Sent, accept
from qa.models import Attachment, CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork
from qa.services import assembly, construction
from reporting.calc.values import BoundedRate, UnitText
from reporting.selectors.handovers import handover_snapshot
from tests.core.services.test_uploads import photo, sent
from tests.factories import (
    InfiltrationTestFactory,
    LayerFactory,
    RoundFactory,
    SievingFactory,
    SurfaceFactory,
)

DAY = date(2024, 3, 1)


def build(firm):
    """A record with a failure corrected and checked again, a waiver, a photo and an acceptance round."""
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


@pytest.fixture
def built(firm):
    return build(firm)


def find(check, firm, answer, sent=NOTHING_SENT, **fields):
    entry = CheckEntry(construction_check=check, done_on=DAY, **fields)
    return construction.record_entry(entry=entry, answer=answer, by=firm.technician, sent=sent)


def checks_of(snapshot):
    return {check.asked.si: check for stage in snapshot.stages for check in stage.checks}


def test_it_tells_the_failure_the_work_the_recheck_and_the_waiver(built):
    snapshot = handover_snapshot(built, Audience.OWNER)

    checks = checks_of(snapshot)
    utilities = checks["Utilities are located and marked."]
    assert [(e.outcome, e.rechecked) for e in utilities.entries] == [("failed", False), ("passed", True)]
    assert [(w.what, w.by) for w in utilities.entries[0].works] == [("Marked by the service.", "Crew north")]
    assert [f.what for f in utilities.entries[0].files] == ["Marks at the gate"]
    thickness = checks["Thickness of the layer, against the design."]
    assert thickness.entries[0].reason == "Accepted by the designer."
    assert snapshot.checks_in_short.endswith("1 is waived.")
    assert not snapshot.complete


def test_it_holds_the_acceptance_test_with_its_readings(built):
    acceptance = handover_snapshot(built, Audience.OWNER).acceptance

    (round_,) = acceptance.rounds
    assert (round_.verdict, round_.spots.si) == ("Passes", "3 of at least 3")
    assert round_.mean == BoundedRate(pytest.approx(9167.3, abs=0.1))
    assert [test.spot for test in round_.tests] == ["A", "B", "C"]
    assert "18 kg in 100 s, ring 300 mm" in round_.tests[0].read
    assert acceptance.asked.rate_mm_h == 2540.0


def test_sentences_stand_in_both_systems_and_numbers_in_si(built):
    snapshot = handover_snapshot(built, Audience.OWNER)

    assert snapshot.acceptance.rounds[0].reason == UnitText(
        "The mean of 9170 mm/h reaches the 2540 mm/h required for acceptance.",
        "The mean of 361 in/h reaches the 100 in/h required for acceptance.",
    )
    assert snapshot.facts[0].value == UnitText("1000 m²", "10\u202f800 ft²")
    assert [layer.thickness_mm for layer in snapshot.build_up.layers] == [100.0]


def test_the_number_of_spots_follows_the_reader_while_nothing_was_tested(firm):
    RoundFactory(surface=SurfaceFactory(site=firm.site, area_m2=2400.0), purpose="acceptance")
    surface = firm.site.surfaces.get(area_m2=2400.0)

    (round_,) = handover_snapshot(surface, Audience.OWNER).acceptance.rounds

    # 2400 m² is under 2500 m², but above 25 000 ft²
    assert round_.spots == UnitText("0 of at least 3", "0 of at least 4")
    assert (round_.mean, round_.tests) == (None, ())


def test_a_photo_set_aside_is_in_no_handover_record(built):
    void_file(row=Attachment.objects.get(), by=built.organisation.memberships.first().user, reason="Face.")

    snapshot = handover_snapshot(built, Audience.FIRM)

    assert not [e.files for check in checks_of(snapshot).values() for e in check.entries if e.files]


def test_it_holds_the_sieve_analyses_in_numbers(firm):
    SievingFactory(surface=firm.surface)

    (grading,) = handover_snapshot(firm.surface, Audience.OWNER).gradings

    assert grading.passes
    assert grading.lines[0].passing_percent == 100.0


def test_a_surface_without_any_record_has_one_that_says_so(firm):
    snapshot = handover_snapshot(firm.surface, Audience.OWNER)

    assert snapshot.checks_in_short == "No construction record was kept."
    assert (snapshot.stages, snapshot.acceptance.rounds) == ((), ())
    assert snapshot.limit.rate_mm_h == 250.0

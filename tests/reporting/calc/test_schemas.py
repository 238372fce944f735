"""Payloads kept by earlier editions can be read for good; those of later ones are refused in words."""

import json
from pathlib import Path

import pytest

from core.errors import UnreadablePayloadError
from reporting.calc import schemas
from reporting.calc.snapshots import SnapshotKind
from reporting.presentation.handover import handover_words
from reporting.presentation.pages import report_page

GOLDEN = Path(__file__).parent.parent / "golden"  # payloads as they were stored; never to be changed
KEPT = [(kind, number) for kind in SnapshotKind for number in range(1, schemas.SCHEMAS[kind] + 1)]


def stored(kind, number):
    return json.loads((GOLDEN / f"{kind}-{number}.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize(("kind", "number"), KEPT)
def test_what_any_edition_kept_is_read_and_rendered(kind, number):
    snapshot = schemas.read(kind, number, stored(kind, number))

    page = {SnapshotKind.REPORT: report_page, SnapshotKind.HANDOVER: handover_words}[kind]
    assert page(snapshot, "si")
    assert page(snapshot, "us")
    assert snapshot.made_on.isoformat() == "2026-06-10"


def test_the_numbers_of_the_first_handover_record_stay():
    words = handover_words(schemas.read(SnapshotKind.HANDOVER, 1, stored(SnapshotKind.HANDOVER, 1)), "si")

    (round_,) = words["acceptance"]["rounds"]
    assert words["limit"] == "250 mm/h"
    assert (round_["verdict"], round_["mean"], round_["lowest"]) == (
        "Passes",
        "312\u202f000 mm/h",
        "9170 mm/h",
    )
    assert [test["text"] for test in round_["tests"]] == ["917\u202f000 mm/h", "9170 mm/h", "9170 mm/h"]


def test_the_numbers_of_the_first_report_stay():
    report = schemas.read(SnapshotKind.REPORT, 1, stored(SnapshotKind.REPORT, 1))

    assert (report.rounds_done, report.cleanings_done) == (1, 1)
    assert (str(report.spent.amount), report.spent.currency) == ("8765.43", "EUR")
    assert str(report.ahead.amount) == "14197.53"
    assert report.surfaces[0].forecast.decline.limit_mm_h == 250.0


def test_reading_and_writing_again_changes_nothing():
    for kind in SnapshotKind:
        payload = stored(kind, schemas.SCHEMAS[kind])

        assert schemas.written(schemas.read(kind, schemas.SCHEMAS[kind], payload)) == payload


def test_a_payload_of_a_newer_edition_is_refused_with_what_to_do():
    with pytest.raises(UnreadablePayloadError, match=r"its schema is 9, this edition reads up to 1.*Update"):
        schemas.read(SnapshotKind.REPORT, 9, {})


def test_an_older_payload_goes_through_every_step_up_to_now(monkeypatch):
    kind, payload = SnapshotKind.HANDOVER, stored(SnapshotKind.HANDOVER, 1)
    old = {name: value for name, value in payload.items() if name != "firm"} | {"company": payload["firm"]}
    steps = {
        1: lambda was: {("firma" if name == "company" else name): value for name, value in was.items()},
        2: lambda was: {("firm" if name == "firma" else name): value for name, value in was.items()},
    }
    monkeypatch.setattr(schemas, "SCHEMAS", {kind: 3})
    monkeypatch.setattr(schemas, "STEPS", {kind: steps})

    assert schemas.read(kind, 1, old).firm == payload["firm"]


def test_a_payload_that_does_not_fit_is_refused_with_its_place():
    payload = stored(SnapshotKind.REPORT, 1)
    payload["surfaces"][0]["standing"]["area_m2"] = "wide"

    with pytest.raises(UnreadablePayloadError, match=r"surfaces\[0\].standing.area_m2"):
        schemas.read(SnapshotKind.REPORT, 1, payload)

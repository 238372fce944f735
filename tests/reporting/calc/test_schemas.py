"""Documents kept by any edition up to this one can be read and rendered for good."""

import json
from pathlib import Path

import pytest

from core.errors import UnreadablePayloadError
from reporting.calc.schemas import TYPES
from reporting.calc.snapshots import SnapshotKind
from reporting.presentation.handover import handover_words
from reporting.presentation.pages import report_page

GOLDEN = Path(__file__).parent.parent / "golden"  # payloads as they were stored; never to be changed
KEPT = [(kind, number) for kind in SnapshotKind for number in range(1, TYPES[kind].SCHEMA + 1)]


def stored(kind, number):
    return json.loads((GOLDEN / f"{kind}-{number}.json").read_text(encoding="utf-8"))


def test_every_kind_of_document_has_its_type():
    assert set(TYPES) == set(SnapshotKind)


@pytest.mark.parametrize(("kind", "number"), KEPT)
def test_what_any_edition_kept_is_read_and_rendered(kind, number):
    snapshot = TYPES[kind].from_json(stored(kind, number))

    page = {SnapshotKind.REPORT: report_page, SnapshotKind.HANDOVER: handover_words}[kind]
    assert page(snapshot, "si")
    assert page(snapshot, "us")
    assert snapshot.made_on.isoformat() == "2026-06-10"


def test_the_numbers_of_the_first_handover_record_stay():
    snapshot = TYPES[SnapshotKind.HANDOVER].from_json(stored(SnapshotKind.HANDOVER, 1))

    words = handover_words(snapshot, "si")

    (round_,) = words["acceptance"]["rounds"]
    assert words["limit"] == "250 mm/h"
    assert (round_["verdict"], round_["mean"], round_["lowest"]) == (
        "Passes",
        "312\u202f000 mm/h",
        "9170 mm/h",
    )
    assert [test["text"] for test in round_["tests"]] == ["917\u202f000 mm/h", "9170 mm/h", "9170 mm/h"]


def test_the_numbers_of_the_first_report_stay():
    report = TYPES[SnapshotKind.REPORT].from_json(stored(SnapshotKind.REPORT, 1))

    assert (report.rounds_done, report.cleanings_done) == (1, 1)
    assert [(str(money.amount), money.currency) for money in report.spent] == [("8765.43", "EUR")]
    assert [str(money.amount) for money in report.ahead] == ["14197.53"]
    assert report.surfaces[0].forecast.decline.record.limit_mm_h == 250.0


@pytest.mark.parametrize("kind", list(SnapshotKind))
def test_reading_and_writing_again_changes_nothing(kind):
    newest = stored(kind, TYPES[kind].SCHEMA)

    written = TYPES[kind].from_json(newest).to_json()

    assert TYPES[kind].from_json(written).to_json() == written
    assert list(lost(newest, written)) == []


def lost(before, after, at="$"):
    """Places of what was stored and is not written again; fields that were added since have their defaults."""
    if isinstance(before, dict):
        for name, part in before.items():
            yield from lost(part, after[name], f"{at}.{name}") if name in after else [f"{at}.{name}"]
    elif isinstance(before, list):
        for number, (part, kept) in enumerate(zip(before, after, strict=True)):
            yield from lost(part, kept, f"{at}[{number}]")
    elif before != after:
        yield at


def test_a_payload_that_does_not_fit_is_refused_with_its_place():
    payload = stored(SnapshotKind.REPORT, 1)
    payload["surfaces"][0]["standing"]["area_m2"] = "wide"

    with pytest.raises(UnreadablePayloadError, match=r"surfaces\[0\]\.standing\.area_m2"):
        TYPES[SnapshotKind.REPORT].from_json(payload)

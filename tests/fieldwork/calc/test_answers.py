"""What the server answers about an entry."""

from uuid import UUID

from fieldwork.calc.answers import FieldError, refused, stored

ENTRY = UUID("6f1d7c1e-3c52-4b0e-9d43-1f6a1f0f6b10")


def test_a_refusal_says_each_field_and_the_whole_in_words():
    answer = refused(
        [FieldError("spot", "Spot", "Say where."), FieldError("", "", "Too late.")], ["keep_anyway"]
    )

    assert (answer.status, answer.is_stored) == (422, False)
    assert answer.content == {
        "code": "refused",
        "text": "Spot: Say where. Too late.",
        "errors": [
            {"field": "spot", "label": "Spot", "text": "Say where."},
            {"field": "", "label": "", "text": "Too late."},
        ],
        "asks": ["keep_anyway"],
    }


def test_what_is_stored_is_told_with_its_page():
    answer = stored(ENTRY, "7", "/rounds/7/", notes=iter(["Stored.", "Look."]), warnings=iter(["Look."]))

    assert answer.is_stored
    assert answer.content == {
        "id": str(ENTRY),
        "pk": "7",
        "url": "/rounds/7/",
        "notes": ["Stored.", "Look."],
        "warnings": ["Look."],
    }

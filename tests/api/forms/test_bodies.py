"""Bodies: what is taken, what is passed over, what is refused for its kind."""

from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from api.calc.problems import KINDS
from api.forms.asking import Dated, PageQuery
from api.forms.bodies import CleaningIn, InspectionIn, RoundIn, SiteIn, SurfaceIn, TestIn
from api.forms.recording import CleaningForm, InspectionForm, RoundForm, SiteForm, SurfaceForm
from api.presentation.places import SiteOut, SurfaceOut
from tests.api.calling import CLEANING, INSPECTION, RING, ROUND, SITE, SURFACE

KEY = str(uuid4())
WHOLE = {
    SiteIn: SITE | {"owner": KEY},
    SurfaceIn: SURFACE | {"site": KEY},
    RoundIn: ROUND | {"surface": KEY},
    TestIn: RING | {"round": KEY},
    CleaningIn: CLEANING | {"surface": KEY},
    InspectionIn: INSPECTION | {"surface": KEY},
}


@pytest.mark.parametrize("kind", WHOLE)
def test_a_whole_body_is_taken_and_an_unknown_name_refused(kind):
    kind.model_validate(WHOLE[kind])

    with pytest.raises(ValidationError, match="extra_forbidden"):
        kind.model_validate(WHOLE[kind] | {"colour": "red"})


@pytest.mark.parametrize(("body", "answer"), [(SiteIn, SiteOut), (SurfaceIn, SurfaceOut)])
def test_what_is_answered_can_be_sent_back(body, answer):
    """Every member of an answer is one of the body, or is passed over."""
    assert answer.model_fields.keys() - body.model_fields.keys() == body.ANSWERED_ONLY
    assert body.model_fields.keys() <= answer.model_fields.keys()


@pytest.mark.parametrize(
    ("body", "form", "named_otherwise"),
    [
        (SiteIn, SiteForm, set()),
        (SurfaceIn, SurfaceForm, set()),
        (RoundIn, RoundForm, set()),
        (CleaningIn, CleaningForm, {"cost"}),  # as `price`, with its currency
        (InspectionIn, InspectionForm, set()),
    ],
)
def test_whatever_a_page_asks_a_program_can_say(body, form, named_otherwise):
    """A column that a body lacks would be emptied by each change."""
    assert set(form.Meta.fields) - body.model_fields.keys() == named_otherwise


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("tested_on", 0),
        ("tested_on", "0"),
        ("tested_on", "1717200000"),
        ("tested_on", "2024-07-02T10:00:00"),
        ("standing_water", "yes"),
        ("standing_water", 1),
        ("hours_since_rain", "60"),
        ("hours_since_rain", True),
        ("hours_since_rain", float("nan")),
        ("hours_since_rain", float("inf")),
        ("purpose", "fun"),
        ("surface", 1),
        ("note", 7),
        ("note", "n" * 10_001),
    ],
)
def test_values_of_another_kind_are_refused_and_not_guessed_at(name, value):
    with pytest.raises(ValidationError) as refused:
        RoundIn.model_validate(WHOLE[RoundIn] | {name: value})

    assert {error["loc"] for error in refused.value.errors()} == {(name,)}


@pytest.mark.parametrize("value", ["1", True, 1.5, 9, None])
def test_a_number_of_a_list_is_one_of_the_list(value):
    with pytest.raises(ValidationError):
        SurfaceIn.model_validate(WHOLE[SurfaceIn] | {"traffic": value})


@pytest.mark.parametrize("amount", ["1", "1.5", "320.00", "999999999.99"])
def test_sums_are_text(amount):
    price = {"amount": amount, "currency": "EUR"}

    assert CleaningIn.model_validate(WHOLE[CleaningIn] | {"price": price}).price.amount == amount


@pytest.mark.parametrize("amount", [1, 1.5, "-1", "1,50", "1.234", "", "1e3", "9999999999"])
def test_other_sums_are_refused(amount):
    with pytest.raises(ValidationError):
        CleaningIn.model_validate(WHOLE[CleaningIn] | {"price": {"amount": amount, "currency": "EUR"}})


@given(st.permutations(list(WHOLE[RoundIn])))
def test_the_order_of_names_makes_no_other_sending(names):
    turned = {name: WHOLE[RoundIn][name] for name in names}

    assert (
        RoundIn.model_validate(turned).model_dump_json()
        == RoundIn.model_validate(WHOLE[RoundIn]).model_dump_json()
    )


def test_only_filters_that_were_given_narrow_a_list():
    assert PageQuery().narrowed() == {}
    assert set(Dated(since="2024-01-01", page_size=3).narrowed()) == {"since"}
    assert 422 in KINDS

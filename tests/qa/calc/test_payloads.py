"""What is kept of tests, checks, samples and outlines: read as it was written, for any values."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.calc.check_model import Criterion
from qa.calc.counts import SurfacePlan
from qa.calc.deviations import Deviation, Deviations
from qa.calc.field_readings import FieldReadings
from qa.calc.gradation import BandLimits
from qa.calc.sieving import SieveReadings

NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
POINTS = st.tuples(NUMBERS, NUMBERS)


def many(one):
    return st.lists(one, max_size=4).map(tuple)


PAYLOADS = {
    "deviations": st.builds(
        Deviations, many(st.builds(Deviation, st.text(), st.none() | NUMBERS, st.text(), st.text()))
    ),
    "field readings": st.builds(
        FieldReadings,
        st.dictionaries(st.text(), st.none() | st.booleans() | NUMBERS, max_size=4),
        many(st.dictionaries(st.text(), NUMBERS, max_size=3)),
    ),
    "criterion": st.builds(
        Criterion,
        st.text(),
        st.text(),
        st.none() | NUMBERS,
        st.none() | NUMBERS,
        st.booleans(),
        st.booleans(),
        st.none() | NUMBERS,
    ),
    "plan": st.builds(SurfacePlan, many(POINTS), many(st.integers(0, 60)), st.none() | POINTS),
    "sieve readings": st.builds(SieveReadings, many(POINTS)),
    "band limits": st.builds(BandLimits, many(st.tuples(NUMBERS, NUMBERS, NUMBERS))),
}


@pytest.mark.parametrize("payloads", PAYLOADS.values(), ids=PAYLOADS)
@given(data=st.data())
def test_what_is_kept_is_read_as_it_was_written(payloads, data):
    payload = data.draw(payloads)

    assert type(payload).from_json(json.loads(json.dumps(payload.to_json()))) == payload


def test_a_yes_stays_a_yes_beside_numbers():
    readings = FieldReadings({"dam_tight": True, "drop": 1.0})

    again = FieldReadings.from_json(readings.to_json())

    assert again.once["dam_tight"] is True
    assert isinstance(again.once["drop"], float)
